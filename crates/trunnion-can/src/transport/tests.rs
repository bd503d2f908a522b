use proptest::prelude::*;
use std::vec::Vec;
use trunnion::quantity::{Millis, Period};

use super::*;
use crate::frame::Frame;
use crate::id::Id29;

const TICK: Period = Period::from_micros(10_000).unwrap();
const OURS: u8 = 0x90;
const THEIRS: u8 = 0x9B;

fn receiver<const N: usize>(kind: Kind, window: u8) -> Receiver<N> {
    Receiver::new(ReceiverConfig { kind, address: OURS, window }, TICK).unwrap()
}

fn sender<const N: usize>() -> Sender<N> {
    Sender::new(SenderConfig { address: THEIRS, broadcast_gap: Millis::millis(50) }, TICK).unwrap()
}

fn control(from: u8, to: u8, bytes: [u8; 8]) -> Frame {
    Frame::group(Id29::addressed(7, 0xEC00, to, from).unwrap(), bytes)
}

fn packet(from: u8, to: u8, bytes: [u8; 8]) -> Frame {
    Frame::group(Id29::addressed(7, 0xEB00, to, from).unwrap(), bytes)
}

#[test]
fn a_request_is_answered_byte_for_byte_as_published() {
    // Tests of python-can-j1939 (MIT): RTS of 20 bytes, a window of one packet, end of message.
    let mut receiver = receiver::<64>(Kind::Addressed, 1);
    receiver.take(&control(THEIRS, OURS, [0x10, 0x14, 0x00, 0x03, 0x01, 0xB0, 0xFE, 0x00]));
    let answer = receiver.step().unwrap();
    assert_eq!(answer.id29().unwrap().to_raw(), 0x1CEC_9B90);
    assert_eq!(answer.bytes(), [0x11, 0x01, 0x01, 0xFF, 0xFF, 0xB0, 0xFE, 0x00]);
    receiver.take(&packet(THEIRS, OURS, [1, 1, 2, 3, 4, 5, 6, 7]));
    assert_eq!(receiver.step().unwrap().bytes(), [0x11, 0x01, 0x02, 0xFF, 0xFF, 0xB0, 0xFE, 0x00]);
    receiver.take(&packet(THEIRS, OURS, [2, 1, 2, 3, 4, 5, 6, 7]));
    assert_eq!(receiver.step().unwrap().bytes(), [0x11, 0x01, 0x03, 0xFF, 0xFF, 0xB0, 0xFE, 0x00]);
    receiver.take(&packet(THEIRS, OURS, [3, 1, 2, 3, 4, 5, 6, 0xFF]));
    assert_eq!(receiver.step().unwrap().bytes(), [0x13, 0x14, 0x00, 0x03, 0xFF, 0xB0, 0xFE, 0x00]);
    let message = receiver.message().unwrap();
    assert_eq!((message.pgn, message.source, message.bytes.len()), (0xFEB0, THEIRS, 20));
}

#[test]
fn a_broadcast_goes_out_byte_for_byte_as_published() {
    // DM1 with two codes, sent with can-j1939 2.0.12.
    let mut sender = sender::<64>();
    sender.broadcast(0xFECA, &[0x04, 0xFF, 0xB8, 0x04, 0x03, 0x0A, 0x64, 0x00, 0xE4, 0x7F]).unwrap();
    let mut sent = Vec::new();
    for step in 0.. {
        if let Some(frame) = sender.step() {
            sent.push((step, <[u8; 8]>::try_from(frame.bytes()).unwrap()));
        }
        if sender.sent() != Sent::UnderWay {
            break;
        }
    }
    assert_eq!(
        sent,
        [
            (0, [0x20, 0x0A, 0x00, 0x02, 0xFF, 0xCA, 0xFE, 0x00]),
            (5, [0x01, 0x04, 0xFF, 0xB8, 0x04, 0x03, 0x0A, 0x64]),
            (10, [0x02, 0x00, 0xE4, 0x7F, 0xFF, 0xFF, 0xFF, 0xFF]),
        ],
        "50 ms between packets"
    );
    assert_eq!(sender.sent(), Sent::Done);
}

#[test]
fn a_second_partner_is_refused_and_the_first_goes_on() {
    let mut receiver = receiver::<64>(Kind::Addressed, 8);
    receiver.take(&control(THEIRS, OURS, [0x10, 9, 0, 2, 0xFF, 0xB0, 0xFE, 0]));
    receiver.step().unwrap();
    receiver.take(&control(0x42, OURS, [0x10, 9, 0, 2, 0xFF, 0xB1, 0xFE, 0]));
    let answer = receiver.step().unwrap();
    assert_eq!(answer.id29().unwrap().destination(), Some(0x42));
    assert_eq!(answer.bytes(), [0xFF, 1, 0xFF, 0xFF, 0xFF, 0xB1, 0xFE, 0]);
    receiver.take(&packet(0x42, OURS, [1; 8]));
    receiver.take(&packet(THEIRS, OURS, [1; 8]));
    receiver.take(&packet(THEIRS, OURS, [1; 8]));
    receiver.take(&packet(THEIRS, OURS, [2; 8]));
    assert_eq!(receiver.message().unwrap().bytes, [1, 1, 1, 1, 1, 1, 1, 2, 2], "a packet may come twice");
}

#[test]
fn what_does_not_fit_is_refused_before_a_byte_of_it_comes() {
    let mut receiver = receiver::<16>(Kind::Addressed, 8);
    receiver.take(&control(THEIRS, OURS, [0x10, 17, 0, 3, 0xFF, 0xB0, 0xFE, 0]));
    assert_eq!(receiver.step().unwrap().bytes()[..2], [0xFF, 2]);
    // A size that contradicts its number of packets is no announcement.
    receiver.take(&control(THEIRS, OURS, [0x10, 16, 0, 9, 0xFF, 0xB0, 0xFE, 0]));
    assert_eq!(receiver.step(), None);
    let mut sender = sender::<16>();
    assert_eq!(sender.broadcast(0xFECA, &[0; 8]), Err(SendRefusal::Size));
    assert_eq!(sender.broadcast(0xFECA, &[0; 17]), Err(SendRefusal::Size));
    assert_eq!(sender.broadcast(0x4_0000, &[0; 16]), Err(SendRefusal::Group));
    assert_eq!(sender.send(OURS, 0xFECA, &[0; 16]), Ok(()));
    assert_eq!(sender.broadcast(0xFECA, &[0; 16]), Err(SendRefusal::Busy));
}

#[test]
fn silence_ends_a_connection_after_the_times_of_the_standard() {
    let mut receiver = receiver::<64>(Kind::Addressed, 8);
    receiver.take(&control(THEIRS, OURS, [0x10, 20, 0, 3, 0xFF, 0xB0, 0xFE, 0]));
    receiver.step();
    let quiet = (0..).find_map(|step| receiver.step().map(|frame| (step, frame.bytes()[1]))).unwrap();
    assert_eq!(quiet, (124, 3), "T2 = 1250 ms after our clear-to-send");
    receiver.take(&control(THEIRS, OURS, [0x10, 20, 0, 3, 0xFF, 0xB0, 0xFE, 0]));
    receiver.step();
    receiver.take(&packet(THEIRS, OURS, [1; 8]));
    let quiet = (0..).find_map(|step| receiver.step().map(|frame| (step, frame.bytes()[1]))).unwrap();
    assert_eq!(quiet, (75, 3), "T1 = 750 ms between packets");

    let mut sender = sender::<64>();
    sender.send(OURS, 0xFEB0, &[0; 20]).unwrap();
    sender.step().unwrap();
    let quiet = (1..).find_map(|step| sender.step().map(|frame| (step, frame.bytes()[1]))).unwrap();
    assert_eq!(quiet, (126, 3), "T3 = 1250 ms after the request");
    sender.send(OURS, 0xFEB0, &[0; 20]).unwrap();
    sender.step().unwrap();
    sender.take(&control(OURS, THEIRS, [0x11, 0, 0, 0xFF, 0xFF, 0xB0, 0xFE, 0]));
    let quiet = (1..).find_map(|step| sender.step().map(|frame| (step, frame.bytes()[1]))).unwrap();
    assert_eq!(
        (quiet, sender.sent()),
        ((106, 3), Sent::Aborted(AbortReason::Timeout)),
        "T4 = 1050 ms on hold"
    );
}

#[test]
fn a_clear_to_send_for_packets_that_do_not_exist_ends_the_message() {
    for words in [[0x11, 1, 0], [0x11, 4, 1], [0x11, 1, 4]] {
        let mut sender = sender::<64>();
        sender.send(OURS, 0xFEB0, &[0; 20]).unwrap();
        sender.step().unwrap();
        sender.take(&control(OURS, THEIRS, [words[0], words[1], words[2], 0xFF, 0xFF, 0xB0, 0xFE, 0]));
        assert_eq!(sender.step().unwrap().bytes()[..2], [0xFF, 7]);
        assert_eq!(sender.sent(), Sent::Aborted(AbortReason::BadSequence));
    }
}

/// Lets both sides talk until neither is under way; gives the number of periods.
fn converse<const N: usize>(sender: &mut Sender<N>, receiver: &mut Receiver<N>) -> u32 {
    for period in 0..20_000 {
        if let Some(frame) = sender.step() {
            receiver.take(&frame);
        }
        if let Some(frame) = receiver.step() {
            sender.take(&frame);
        }
        if sender.sent() != Sent::UnderWay {
            return period;
        }
    }
    panic!("they never ended");
}

#[test]
fn the_largest_message_comes_whole_whatever_the_window() {
    let bytes: Vec<u8> = (0..LARGEST_MESSAGE).map(|place| (place % 251) as u8).collect();
    for window in 1..=255 {
        let mut receiver = receiver::<1785>(Kind::Addressed, window);
        let mut sender = sender::<1785>();
        sender.send(OURS, 0xFEB0, &bytes).unwrap();
        converse(&mut sender, &mut receiver);
        assert_eq!(receiver.message().map(|message| message.bytes), Some(&bytes[..]), "window {window}");
    }
}

proptest! {
    #[test]
    fn what_is_sent_is_what_comes_whatever_size_and_window(
        bytes in proptest::collection::vec(any::<u8>(), 9..1786), window in 1_u8..=255, broadcast: bool
    ) {
        let kind = if broadcast { Kind::Broadcast } else { Kind::Addressed };
        let mut receiver = receiver::<1785>(kind, window);
        let mut sender = sender::<1785>();
        sender.send(if broadcast { 0xFF } else { OURS }, 0xFEB0, &bytes).unwrap();
        converse(&mut sender, &mut receiver);
        prop_assert_eq!(sender.sent(), Sent::Done);
        let message = receiver.message().unwrap();
        prop_assert_eq!((message.pgn, message.source, message.bytes), (0xFEB0, THEIRS, &bytes[..]));
        receiver.release();
        prop_assert!(receiver.message().is_none());
    }

    #[test]
    fn no_traffic_whatsoever_disturbs_what_comes_after_a_silence(
        noise in proptest::collection::vec(
            (prop::sample::select(std::vec![0xEC00_u32, 0xEB00]), prop::sample::select(std::vec![OURS, 0xFF]),
             prop::sample::select(std::vec![THEIRS, 0x42]),
             prop::sample::select(std::vec![1_u8, 2, 3, 16, 17, 19, 32, 255]),
             prop::array::uniform7(prop::sample::select(std::vec![0_u8, 1, 2, 3, 9, 20, 0xB0, 0xFE, 0xFF]))),
            0..200),
        addressed: bool
    ) {
        let kind = if addressed { Kind::Addressed } else { Kind::Broadcast };
        let mut receiver = receiver::<64>(kind, 4);
        let mut sender = sender::<64>();
        for (group, to, from, first, rest) in noise {
            let mut data = [first; 8];
            data[1..].copy_from_slice(&rest);
            let frame = Frame::group(Id29::addressed(7, group, to, from).unwrap(), data);
            receiver.take(&frame);
            sender.take(&frame);
            if receiver.step().is_none() {
                receiver.release();
            }
        }
        for _ in 0..=126 {
            receiver.step();
            receiver.release();
        }
        sender.send(if addressed { OURS } else { 0xFF }, 0xFEB0, &[7; 30]).unwrap();
        converse(&mut sender, &mut receiver);
        prop_assert_eq!(receiver.message().map(|message| message.bytes), Some(&[7; 30][..]));
    }

    #[test]
    fn a_lost_packet_never_gives_a_wrong_message(
        bytes in proptest::collection::vec(any::<u8>(), 9..200), lost in 0_usize..40, broadcast: bool
    ) {
        let kind = if broadcast { Kind::Broadcast } else { Kind::Addressed };
        let mut receiver = receiver::<200>(kind, 5);
        let mut sender = sender::<200>();
        sender.send(if broadcast { 0xFF } else { OURS }, 0xFEB0, &bytes).unwrap();
        let mut count = 0;
        for _ in 0..2_000 {
            if let Some(frame) = sender.step() {
                if count != lost {
                    receiver.take(&frame);
                }
                count += 1;
            }
            if let Some(frame) = receiver.step() {
                sender.take(&frame);
            }
        }
        prop_assert_ne!(sender.sent(), Sent::UnderWay);
        match receiver.message() {
            Some(message) => prop_assert_eq!(message.bytes, &bytes[..]),
            None => prop_assert!(lost < count),
        }
    }
}
