//! A code of two digits on one lamp.

use trunnion::fault::{BlinkCode, BlinkCodeConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// 250 ms lit, 250 ms dark, 1500 ms of pause.
pub struct Block(BlinkCode);

impl Subject for Block {
    const NAME: &'static str = "fault/blink_code";
    type Input = u8;
    type Output = bool;

    fn new() -> Self {
        Self(built!(BlinkCode::new(
            BlinkCodeConfig { on: millis(250), off: millis(250), pause: millis(1_500) },
            TICK
        )))
    }

    /// Mostly a code of a fault that stays, sometimes none, sometimes no code at all.
    fn input(random: &mut Random, previous: Option<&u8>) -> u8 {
        match (previous, random.below(200)) {
            (None, _) | (_, 0..2) => random.below(100) as u8,
            (_, 2..4) => 0,
            (_, 4) => random.bits() as u8,
            (Some(code), _) => *code,
        }
    }

    fn step(&mut self, code: &u8) -> bool {
        self.0.step(*code)
    }

    fn input_words(code: &u8, into: &mut Words) -> usize {
        into[0] = i32::from(*code);
        1
    }

    fn output_words(lit: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*lit);
        1
    }
}
