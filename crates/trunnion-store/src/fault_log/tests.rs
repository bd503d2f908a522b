use trunnion::declare::{Latch, Reactions};

use super::*;
use crate::model_flash::{ModelFlash, UNIT};

mod before {
    use super::*;
    trunnion::faults! {
        /// Before the change.
        pub enum Fault {
            /// Goes.
            Gone: spn 1, fmi 1, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 1, "here";
            /// Stays.
            Kept: spn 520_192, fmi 31, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 2, "here";
        }
    }
}

mod after {
    use super::*;
    trunnion::faults! {
        /// After it.
        pub enum Fault {
            /// New.
            New: spn 520_192, fmi 30, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 1, "here";
            /// Stays, in the same place.
            Kept: spn 520_192, fmi 31, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 2, "here";
        }
    }
}

#[test]
fn entries_find_their_fault_again_by_spn_and_fmi() {
    let mut store = Store::<_, 64>::new(ModelFlash::new(4, 1), 0..4 * UNIT as u32).unwrap();
    let stored = |place: u16| LogEntry { first: 10 + u32::from(place), last: 20, count: 3 };
    save::<before::Fault, _, 64>(&mut store, stored).unwrap();
    let mut found = std::vec::Vec::new();
    let told = load::<after::Fault, _, 64>(&mut store, |place, entry| found.push((place, entry)));
    assert_eq!(found, [(1, LogEntry { first: 11, last: 20, count: 3 })]);
    assert_eq!(told, LogFound { entries: 1, dropped: 1, damaged: false });
}

#[test]
fn a_record_that_is_no_log_is_told() {
    let mut store = Store::<_, 64>::new(ModelFlash::new(4, 1), 0..4 * UNIT as u32).unwrap();
    store.write(Key::FaultLog, &[1, 2, 3]).unwrap();
    assert!(load::<after::Fault, _, 64>(&mut store, |_, _| unreachable!()).damaged);
}

#[test]
fn a_log_without_entries_is_stored_and_read_as_such() {
    let mut store = Store::<_, 64>::new(ModelFlash::new(4, 1), 0..4 * UNIT as u32).unwrap();
    save::<before::Fault, _, 64>(&mut store, |_| LogEntry::default()).unwrap();
    let told = load::<before::Fault, _, 64>(&mut store, |_, _| unreachable!());
    assert_eq!(told, LogFound { entries: 0, dropped: 0, damaged: false });
}
