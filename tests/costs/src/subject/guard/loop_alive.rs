//! Whether the loop keeps its period.

use trunnion::guard::{LoopAlive, LoopAliveConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// Three overruns, one forgotten a second.
pub struct Block(LoopAlive);

impl Subject for Block {
    const NAME: &'static str = "guard/loop_alive";
    /// Missed periods since the start, wrapping.
    type Input = u8;
    type Output = bool;

    fn new() -> Self {
        Self(built!(LoopAlive::new(LoopAliveConfig { overruns: 3, forget_after: millis(1_000) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&u8>) -> u8 {
        match (previous, random.below(400)) {
            (None, _) => random.bits() as u8,
            (Some(missed), 0) => missed.wrapping_add(random.below(3) as u8),
            (Some(_), 1) if random.once_in(5) => random.bits() as u8,
            (Some(missed), _) => *missed,
        }
    }

    fn step(&mut self, missed: &u8) -> bool {
        self.0.step(*missed)
    }

    fn input_words(missed: &u8, into: &mut Words) -> usize {
        into[0] = i32::from(*missed);
        1
    }

    fn output_words(alive: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*alive);
        1
    }
}
