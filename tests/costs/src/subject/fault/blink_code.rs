//! A code on a lamp.

use trunnion::fault::{BlinkCode, BlinkCodeConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// 200, 300, 1500 ms.
pub struct Block(BlinkCode);

impl Subject for Block {
    const NAME: &'static str = "fault/blink_code";
    type Input = u8;
    type Output = bool;

    fn new() -> Self {
        Self(built!(BlinkCode::new(
            BlinkCodeConfig { on: millis(200), off: millis(300), pause: millis(1_500) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&u8>) -> u8 {
        match previous {
            Some(code) if !random.once_in(200) => *code,
            _ => random.between(0, 33) as u8,
        }
    }

    fn step(&mut self, input: &u8) -> bool {
        self.0.step(*input)
    }
}
