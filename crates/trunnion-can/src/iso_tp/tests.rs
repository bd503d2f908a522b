use embedded_can::StandardId;
use proptest::prelude::*;
use std::vec::Vec;
use trunnion::quantity::{Millis, Period};

use super::*;
use crate::frame::{Frame, standard};
use crate::id::Id29;

const TICK: Period = Period::from_micros(10_000).unwrap();

fn fixed(address: u8, block: u8, separation: u32) -> LinkConfig {
    let separation = Millis::millis(separation);
    LinkConfig { addressing: Addressing::Fixed { address }, block, separation, fill: 0xCC }
}

fn link<const R: usize, const S: usize>(address: u8, block: u8, separation: u32) -> Link<R, S> {
    Link::new(fixed(address, block, separation), TICK).unwrap()
}

fn to_us(data: [u8; 8]) -> Frame {
    Frame::group(Id29::from_raw(0x18DA_27F9).unwrap(), data)
}

#[test]
fn a_long_request_is_let_in_block_by_block() {
    let mut link = link::<64, 64>(0x27, 2, 5);
    link.take(&to_us([0x10, 24, 1, 2, 3, 4, 5, 6]));
    let go_on = link.step().unwrap();
    assert_eq!(go_on.id29().unwrap().to_raw(), 0x18DA_F927);
    assert_eq!(go_on.bytes(), [0x30, 2, 5, 0xCC, 0xCC, 0xCC, 0xCC, 0xCC]);
    link.take(&to_us([0x21, 7, 8, 9, 10, 11, 12, 13]));
    assert_eq!(link.step(), None);
    link.take(&to_us([0x22, 14, 15, 16, 17, 18, 19, 20]));
    assert_eq!(link.step().unwrap().bytes()[0], 0x30);
    link.take(&to_us([0x23, 21, 22, 23, 24, 0, 0, 0]));
    assert_eq!(link.step(), None, "nothing is said to the last frame");
    let expected: Vec<u8> = (1..=24).collect();
    assert_eq!(link.request().unwrap().bytes, &expected[..]);
}

#[test]
fn what_does_not_fit_is_refused_at_its_first_frame() {
    let mut link = link::<32, 32>(0x27, 0, 0);
    // 33 bytes; and a length that only 32 bits hold.
    for first in [[0x10, 33, 0, 0, 0, 0, 0, 0], [0x10, 0, 0, 0, 0x20, 0, 0, 0]] {
        link.take(&to_us(first));
        assert_eq!(link.step().unwrap().bytes()[0], 0x32);
    }
    link.take(&to_us([0x10, 7, 0, 0, 0, 0, 0, 0]));
    assert_eq!(link.step(), None, "seven bytes go in a single frame");
    assert_eq!(link.answer(&[0; 33]), Err(SendRefusal::Size));
    assert_eq!(link.answer(&[]), Err(SendRefusal::Size));
    assert_eq!((link.answer(&[0; 32]), link.answer(&[0; 32])), (Ok(()), Err(SendRefusal::Busy)));
}

#[test]
fn a_frame_out_of_turn_and_a_silence_end_a_request() {
    let mut link = link::<32, 32>(0x27, 0, 0);
    link.take(&to_us([0x10, 20, 0, 0, 0, 0, 0, 0]));
    link.take(&to_us([0x22, 0, 0, 0, 0, 0, 0, 0]));
    assert_eq!((link.trouble(), link.trouble()), (Some(LinkTrouble::Sequence), None));
    link.take(&to_us([0x10, 20, 0, 0, 0, 0, 0, 0]));
    let silent = (0..).find(|_| {
        link.step();
        link.trouble().is_some()
    });
    assert_eq!(silent, Some(100), "N_Cr = 1000 ms");
    assert!(link.request().is_none());
}

#[test]
fn an_answer_waits_for_the_tester_and_gives_up_after_a_second() {
    let mut link = link::<32, 32>(0x27, 0, 0);
    link.take(&to_us([0x01, 0x22, 0, 0, 0, 0, 0, 0]));
    link.answer(&[7; 20]).unwrap();
    assert_eq!(link.step().unwrap().bytes(), [0x10, 20, 7, 7, 7, 7, 7, 7]);
    link.take(&to_us([0x31, 0, 0, 0, 0, 0, 0, 0]));
    for _ in 0..90 {
        assert_eq!(link.step(), None, "wait");
    }
    link.take(&to_us([0x30, 1, 20, 0, 0, 0, 0, 0]));
    assert_eq!(link.step().unwrap().bytes()[..2], [0x21, 7]);
    assert_eq!((link.more(), link.answering()), (None, true), "a block of one");
    let silent = (1..).find(|_| {
        link.step();
        link.trouble() == Some(LinkTrouble::AnswerTimeout)
    });
    assert_eq!((silent, link.answering()), (Some(101), false), "N_Bs = 1000 ms");
    link.answer(&[7; 20]).unwrap();
    link.step();
    link.take(&to_us([0x32, 0, 0, 0, 0, 0, 0, 0]));
    assert_eq!((link.trouble(), link.answering()), (Some(LinkTrouble::AnswerRefused), false));
}

#[test]
fn separation_times_are_kept_as_the_standard_writes_them() {
    // ISO 15765-2, STmin: milliseconds, hundreds of microseconds, and reserved values taken as 127 ms.
    for (byte, periods) in
        [(0, 0), (1, 1), (10, 1), (11, 2), (127, 13), (0x80, 13), (0xF1, 1), (0xF9, 1), (0xFA, 13)]
    {
        let mut link = link::<32, 64>(0x27, 0, 0);
        link.answer(&[7; 40]).unwrap();
        link.step().unwrap();
        link.take(&Frame::group(Id29::from_raw(0x18DA_2700).unwrap(), [0x30, 0, byte, 0, 0, 0, 0, 0]));
        link.step().unwrap();
        if periods == 0 {
            assert!(link.more().is_some());
            continue;
        }
        assert_eq!(link.more(), None);
        let gap = (1..).find(|_| link.step().is_some());
        assert_eq!(gap, Some(periods), "STmin {byte:#x}");
    }
}

#[test]
fn two_testers_do_not_mix_and_all_may_be_asked_in_one_frame_only() {
    let mut link = link::<32, 32>(0x27, 0, 0);
    link.take(&to_us([0x10, 9, 1, 1, 1, 1, 1, 1]));
    let other = Id29::from_raw(0x18DA_27FA).unwrap();
    link.take(&Frame::group(other, [0x21, 2, 2, 2, 2, 2, 2, 2]));
    link.take(&Frame::group(other, [0x02, 0x3E, 0, 0, 0, 0, 0, 0]));
    link.take(&to_us([0x21, 1, 1, 1, 0, 0, 0, 0]));
    assert_eq!(link.request().unwrap().bytes, [1; 9]);
    link.release();
    let to_all = Id29::from_raw(0x18DB_33F9).unwrap();
    link.take(&Frame::group(to_all, [0x10, 9, 1, 1, 1, 1, 1, 1]));
    assert_eq!(link.request(), None);
    link.take(&Frame::group(to_all, [0x02, 0x3E, 0x80, 0, 0, 0, 0, 0]));
    assert!(link.request().unwrap().to_all);
}

#[test]
fn eleven_bit_identifiers_carry_the_same_conversation() {
    let id = |raw| StandardId::new(raw).unwrap();
    let addressing = Addressing::Standard { requests: id(0x7E0), to_all: id(0x7DF), answers: id(0x7E8) };
    let config = LinkConfig { addressing, ..fixed(0, 8, 0) };
    let mut link = Link::<32, 32>::new(config, TICK).unwrap();
    link.take(&Frame::with_bytes(standard(0x7E0).unwrap(), &[0x02, 0x10, 0x03]).unwrap());
    assert_eq!(link.request().unwrap().bytes, [0x10, 0x03]);
    link.answer(&[0x50, 0x03]).unwrap();
    let frame = link.step().unwrap();
    assert_eq!((frame.id29(), frame.bytes().len()), (None, 8));
    assert_eq!(embedded_can::Frame::id(&frame), standard(0x7E8).unwrap());
}

#[test]
fn a_wrong_configuration_names_its_value() {
    let error = Link::<8, 8>::new(fixed(254, 0, 0), TICK).unwrap_err();
    assert_eq!(error, LinkConfigError::NoAddress { value: 254 });
    let error = Link::<8, 8>::new(fixed(0, 0, 128), TICK).unwrap_err();
    assert_eq!(error, LinkConfigError::SeparationTooLong { value: Millis::millis(128) });
}

proptest! {
    #[test]
    fn what_one_side_answers_the_other_takes_whole(
        bytes in proptest::collection::vec(any::<u8>(), 1..600), block: u8, separation in 0_u32..30
    ) {
        let mut ours = link::<600, 600>(0x27, 0, 0);
        let mut theirs = link::<600, 600>(0xF9, block, separation);
        ours.take(&to_us([0x01, 0x22, 0, 0, 0, 0, 0, 0]));
        ours.answer(&bytes).unwrap();
        for _ in 0..3_000 {
            let mut frame = ours.step();
            while let Some(sent) = frame {
                theirs.take(&sent);
                frame = ours.more();
            }
            if let Some(sent) = theirs.step() {
                ours.take(&sent);
            }
        }
        prop_assert!(!ours.answering());
        prop_assert_eq!(theirs.request().map(|request| request.bytes), Some(&bytes[..]));
    }

    #[test]
    fn no_frames_whatsoever_disturb_what_comes_after_a_silence(
        noise in proptest::collection::vec((prop::sample::select(std::vec![0x18DA_27F9_u32, 0x18DA_27FA, 0x18DB_33F9]),
            proptest::collection::vec(prop::sample::select(std::vec![0_u8, 1, 2, 7, 8, 9, 0x10, 0x11, 0x20, 0x21, 0x22, 0x30, 0x31, 0x32, 0xFF]), 0..9)), 0..300)
    ) {
        let mut link = link::<64, 64>(0x27, 2, 0);
        for (id, bytes) in noise {
            let id = embedded_can::Id::Extended(Id29::from_raw(id).unwrap().into());
            link.take(&Frame::with_bytes(id, &bytes).unwrap());
            if let Some(request) = link.request() {
                prop_assert!(!request.bytes.is_empty() && request.bytes.len() <= 64);
            }
            if link.step().is_none() {
                link.release();
                let _ = link.answer(&[1; 30]);
            }
        }
        for _ in 0..=101 {
            link.step();
            link.release();
        }
        prop_assert!(!link.answering());
        link.take(&to_us([0x02, 0x3E, 0, 0, 0, 0, 0, 0]));
        prop_assert_eq!(link.request().unwrap().bytes, [0x3E, 0]);
    }
}
