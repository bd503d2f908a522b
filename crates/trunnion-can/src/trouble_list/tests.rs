use proptest::prelude::*;
use std::vec::Vec;

use super::*;
use crate::trouble_code::Lamp;

const TICK: Period = Period::from_micros(10_000).unwrap();

#[test]
fn the_published_message_reads_as_published() {
    // Test data of the j1939-84 project (MIT): three codes, the first of an older conversion method.
    let bytes = [0x11, 0xCD, 0x61, 0x02, 0x13, 0x81, 0x21, 0x06, 0x1F, 0x23, 0xEE, 0x10, 0x04, 0x00];
    let (lamps, codes) = parse(&bytes).unwrap();
    assert_eq!((lamps.red_stop, lamps.protect), (Lamp::SlowFlash, Lamp::FastFlash));
    let codes: Vec<(u32, u8, u8)> = codes.map(|code| (code.spn(), code.fmi(), code.count())).collect();
    assert_eq!(codes, [(1569, 31, 35), (4334, 4, 0)]);
    assert!(parse(&bytes[..5]).is_none());
}

#[test]
fn what_has_no_room_is_counted() {
    let mut list = TroubleList::<10>::new(Lamps::OFF);
    for spn in 0..5 {
        list.push(TroubleCode::new(spn, 1, 1).unwrap());
    }
    assert_eq!((list.codes(), list.left_out(), list.bytes().len()), (2, 3, 10));
}

#[test]
fn the_end_of_the_last_code_is_told_even_when_it_came_too_soon() {
    let mut timing = ActiveTroubleTiming::<1>::new(TICK);
    assert!(timing.step(&[1]));
    let told = (1..=300).filter(|_| timing.step(&[0])).count();
    assert_eq!(told, 1, "once, and then silence");
    timing.reset();
    assert!(!timing.step(&[0]) && timing.step(&[1]));
}

proptest! {
    #[test]
    fn a_list_reads_back(codes in proptest::collection::vec((1_u32..1 << 19, 0_u8..32, 0_u8..127), 0..10)) {
        let mut list = TroubleList::<42>::new(Lamps::OFF);
        let codes: Vec<TroubleCode> =
            codes.into_iter().map(|(spn, fmi, count)| TroubleCode::new(spn, fmi, count).unwrap()).collect();
        for code in &codes {
            list.push(*code);
        }
        let (lamps, read) = parse(list.bytes()).unwrap();
        prop_assert_eq!(lamps, Lamps::OFF);
        // With two or more codes there is no filling; one code is filled up with 0xFF to eight bytes.
        prop_assert_eq!(read.collect::<Vec<_>>(), codes);
    }

    #[test]
    fn every_state_is_told_within_a_second_and_a_flapping_code_floods_nobody(
        changes in proptest::collection::vec((1_usize..150, any::<[bool; 3]>()), 1..40)
    ) {
        let mut timing = ActiveTroubleTiming::<1>::new(TICK);
        let mut told = 0;
        let mut untold = 0;
        let (mut messages, mut steps) = (0_usize, 0_usize);
        for (length, bits) in changes {
            let active = bits.iter().rev().fold(0, |word, bit| word * 2 + u32::from(*bit));
            for _ in 0..length {
                steps += 1;
                if timing.step(&[active]) {
                    told = active;
                    messages += 1;
                }
                untold = if told == active { 0 } else { untold + 1 };
                prop_assert!(untold < 100, "untold for a second");
            }
        }
        // One a second, and for each of the three codes one a second more.
        prop_assert!(messages <= 4 * (steps / 100 + 1));
    }
}
