//! Requests and answers of many frames (ISO 15765-2).

use trunnion::quantity::{Millis, Period};
use trunnion_can::iso_tp::{Addressing, Link, LinkConfig};

use crate::steps::Steps;

const TICK: Period = Period::from_micros(10_000).unwrap();
const CONTROLLER: u8 = 0x27;
const TESTER: u8 = 0xF9;
/// One tester, another, and one that speaks to all.
const KNOWN: [u32; 4] = [0x18DA_27F9, 0x18DA_27F9, 0x18DA_27FA, 0x18DB_33F9];

fn link(address: u8, block: u8, separation: u8) -> Link<64, 64> {
    let separation = Millis::from_ticks(u32::from(separation % 128));
    let config = LinkConfig { addressing: Addressing::Fixed { address }, block, separation, fill: 0xCC };
    Link::new(config, TICK).expect("a link")
}

/// Any frames at a link, or a message between two links whose frames get lost as the input says.
pub fn run(input: &[u8]) {
    let mut steps = Steps::new(input);
    let (block, separation) = (steps.byte() % 16, steps.byte());
    if steps.byte().is_multiple_of(2) {
        strange_frames(&mut steps, block, separation)
    } else {
        lossy(&mut steps, block, separation)
    }
}

fn strange_frames(steps: &mut Steps<'_>, block: u8, separation: u8) {
    let mut link = link(CONTROLLER, block, separation);
    while !steps.is_empty() {
        match steps.byte() % 16 {
            0 => link.release(),
            1 => {
                let count = usize::from(steps.byte() % 80);
                let bytes = steps.some(count);
                let taken = link.answer(bytes).is_ok();
                assert!(!taken || (1..=64).contains(&bytes.len()));
            }
            2 | 3 => {
                let mut frame = link.step();
                let mut frames = 0;
                while let Some(sent) = frame {
                    assert_eq!(sent.bytes().len(), 8);
                    assert_eq!(sent.id29().expect("29 bits").source(), CONTROLLER);
                    frames += 1;
                    assert!(frames <= 12, "an answer of 64 bytes has ten frames");
                    frame = link.more();
                }
            }
            4 => drop(link.trouble()),
            _ => link.take(&steps.frame(&KNOWN)),
        }
        if let Some(request) = link.request() {
            assert!((1..=64).contains(&request.bytes.len()));
        }
    }
}

fn lossy(steps: &mut Steps<'_>, block: u8, separation: u8) {
    let (mut tester, mut controller) = (link(TESTER, 0, 0), link(CONTROLLER, block, separation));
    let size = usize::from(1 + steps.byte() % 64);
    let sent: Vec<u8> = (0..size).map(|place| (place as u8).wrapping_mul(37)).collect();
    tester.begin(CONTROLLER, &sent).expect("nothing was under way");
    for _ in 0..400 {
        let lost = steps.byte();
        let mut frame = tester.step();
        while let Some(sent) = frame {
            // 1 loses a frame, 2 brings it twice: then the rest is out of turn, and nothing may come of it.
            if lost != 1 {
                controller.take(&sent);
            }
            if lost == 2 {
                controller.take(&sent);
            }
            frame = tester.more();
        }
        let mut frame = controller.step();
        while let Some(said) = frame {
            if lost != 3 {
                tester.take(&said);
            }
            frame = controller.more();
        }
        if let Some(request) = controller.request() {
            assert_eq!((request.tester, request.bytes), (TESTER, &sent[..]));
            return;
        }
        if steps.is_empty() && !tester.answering() {
            return;
        }
    }
}
