//! Messages of many frames (SAE J1939-21).

use trunnion::quantity::{Millis, Period};
use trunnion_can::transport::{Kind, Receiver, ReceiverConfig, Sender, SenderConfig};

use crate::steps::Steps;

const TICK: Period = Period::from_micros(10_000).unwrap();
const OURS: u8 = 0x27;
const THEIRS: u8 = 0x33;
/// Control and packets of one and of another sender, to us and to all.
const KNOWN: [u32; 6] = [0x1CEC_2733, 0x1CEB_2733, 0x1CEC_FF33, 0x1CEB_FF33, 0x1CEC_2744, 0x1CEB_2744];

/// Any frames at a receiver and a sender, and a message between the two whose frames get lost as the input says.
pub fn run(input: &[u8]) {
    let mut steps = Steps::new(input);
    let kind = if steps.byte().is_multiple_of(2) { Kind::Addressed } else { Kind::Broadcast };
    let window = steps.byte().max(1);
    if steps.byte().is_multiple_of(2) {
        strange_frames(&mut steps, kind, window)
    } else {
        lossy(&mut steps, kind, window)
    }
}

fn receiver(kind: Kind, window: u8) -> Receiver<64> {
    Receiver::new(ReceiverConfig { kind, address: OURS, window }, TICK).expect("a receiver")
}

fn strange_frames(steps: &mut Steps<'_>, kind: Kind, window: u8) {
    let mut receiver = receiver(kind, window);
    let config = SenderConfig { address: OURS, broadcast_gap: Millis::millis(50) };
    let mut sender = Sender::<64>::new(config, TICK).expect("a sender");
    while !steps.is_empty() {
        match steps.byte() % 16 {
            0 => {
                let count = usize::from(steps.byte() % 80);
                let bytes = steps.some(count);
                let taken = sender.send(THEIRS, 0xFECA, bytes).is_ok();
                assert!(!taken || (9..=64).contains(&bytes.len()));
            }
            1 => receiver.release(),
            2 => drop(receiver.step()),
            3 => drop(sender.step()),
            _ => {
                let frame = steps.frame(&KNOWN);
                receiver.take(&frame);
                sender.take(&frame);
            }
        }
        if let Some(message) = receiver.message() {
            assert!((9..=64).contains(&message.bytes.len()), "{} bytes", message.bytes.len());
            assert!(message.pgn <= 0x3_FFFF);
        }
    }
}

fn lossy(steps: &mut Steps<'_>, kind: Kind, window: u8) {
    let mut receiver = receiver(kind, window);
    let config = SenderConfig { address: THEIRS, broadcast_gap: Millis::millis(50) };
    let mut sender = Sender::<64>::new(config, TICK).expect("a sender");
    let size = usize::from(9 + steps.byte() % 56);
    let sent: Vec<u8> = (0..size).map(|place| (place as u8).wrapping_mul(37)).collect();
    let begun = if kind == Kind::Addressed {
        sender.send(OURS, 0xFECA, &sent)
    } else {
        sender.broadcast(0xFECA, &sent)
    };
    begun.expect("nothing was under way");
    for _ in 0..600 {
        let lost = steps.byte();
        if let Some(frame) = sender.step() {
            // 1 loses it, 2 brings it twice.
            if lost != 1 {
                receiver.take(&frame);
            }
            if lost == 2 {
                receiver.take(&frame);
            }
        }
        if let Some(frame) = receiver.step().filter(|_| lost != 3) {
            sender.take(&frame);
        }
        if let Some(message) = receiver.message() {
            assert_eq!((message.pgn, message.source, message.bytes), (0xFECA, THEIRS, &sent[..]));
            return;
        }
        if lost == 0 && steps.is_empty() && sender.sent() != trunnion_can::transport::Sent::UnderWay {
            return;
        }
    }
}
