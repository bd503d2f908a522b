//! What is brought over the bus is heard and answered: else it would cost nothing.

use std::collections::BTreeSet;

use costs::SUBJECTS;
use costs::scale::Words;
use loader::declaration::Outputs;
use trunnion::declare::Record;

/// Words of a frame.
const FRAME: usize = 4;

/// The services of the answers that a station gave in a stream, of which `first` is the word with its first frame: the first
/// bytes behind the length of those that fit a frame or begin a longer message.
fn answered(name: &str, first: usize) -> BTreeSet<u8> {
    let subject = SUBJECTS.iter().find(|subject| subject.name == name).unwrap();
    let mut services = BTreeSet::new();
    (subject.replay)(3, 6_000, &mut |_: &Words, said| {
        for frame in said[first..].chunks(FRAME).take(4) {
            let id = frame[0] as u32 & 0x1FFF_FFFF;
            let bytes = frame[2].to_le_bytes();
            if id >> 8 == 0x18_DAF9 {
                match bytes[0] >> 4 {
                    0 => services.insert(bytes[1]),
                    1 => services.insert(bytes[2]),
                    _ => false,
                };
            }
        }
    });
    services
}

/// The word in which the loader's outputs have their first frame.
fn loaders_first() -> usize {
    let before = Outputs::FIELDS.iter().take_while(|field| field.name != "bus_out_1_head");
    before.map(|field| if field.bytes > 4 { 2 } else { 1 }).sum()
}

#[test]
fn a_tester_who_reads_is_answered() {
    assert!(answered("service/read_frame", 0).contains(&0x62));
    assert!(answered("service/silence", 0).is_empty());
    assert!(answered("service/foreign_frame", 0).is_empty());
}

/// Session, access, values, writes, a commit or another routine, all faults, clears.
const ALL: [u8; 7] = [0x50, 0x67, 0x62, 0x6E, 0x71, 0x59, 0x54];

#[test]
fn a_tester_who_asks_for_anything_unlocks_writes_commits_and_clears() {
    for (subject, first) in
        [("service/anything", 0), ("service/full_mailbox", 0), ("path/loader_asked", loaders_first())]
    {
        let services = answered(subject, first);
        for service in ALL {
            assert!(services.contains(&service), "{subject}: 0x{service:02X} is not in {services:02X?}");
        }
    }
}

#[test]
fn the_black_box_of_the_loader_is_read_and_a_flood_is_answered_while_it_works() {
    assert!(answered("path/loader_asked", loaders_first()).contains(&0x63));
    assert!(answered("path/loader_flooded", loaders_first()).contains(&0x62));
}
