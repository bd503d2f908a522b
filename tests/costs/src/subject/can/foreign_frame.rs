//! A frame that no filter of the loader takes: what dropping it costs. One in sixteen is taken, so that it can be seen that
//! they are told apart.

use trunnion::quantity::Ratio;
use trunnion_can::mailbox::{Accepted, Mailbox};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::lever_frames::{OnTheWire, RIGHT_LEVER, lever_frame, mailbox};

/// The mailbox with the loader's filters.
pub struct Block(Mailbox<5>);

impl Subject for Block {
    const NAME: &'static str = "can/foreign_frame";
    type Input = OnTheWire;
    type Output = Accepted;

    fn new() -> Self {
        Self(mailbox())
    }

    fn input(random: &mut Random, _: Option<&OnTheWire>) -> OnTheWire {
        let frame = lever_frame(random, RIGHT_LEVER, [Ratio::ZERO; 3]);
        let frame = frame.unwrap_or(OnTheWire { id: 0, extended: false, data: [0; 8] });
        match random.below(16) {
            0 => frame,
            // Of another lever, of somebody else, of 11 bits.
            1..=5 => OnTheWire { id: frame.id ^ 0x80, ..frame },
            6..=12 => OnTheWire { id: random.bits() & 0x1FFF_FFFF, ..frame },
            _ => OnTheWire { id: random.below(0x800), extended: false, ..frame },
        }
    }

    fn step(&mut self, frame: &OnTheWire) -> Accepted {
        self.0.receive(frame.id, frame.extended, &frame.data)
    }

    fn input_words(frame: &OnTheWire, into: &mut Words) -> usize {
        OnTheWire::words(Some(frame), into, 0)
    }

    fn output_words(accepted: &Accepted, into: &mut Words) -> usize {
        into[0] = match accepted {
            Accepted::Slot(place) => i32::from(*place),
            Accepted::NotOurs => -1,
            Accepted::Malformed => -2,
        };
        1
    }
}
