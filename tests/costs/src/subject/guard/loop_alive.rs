//! The loop keeps its period.

use trunnion::guard::{LoopAlive, LoopAliveConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// Three overruns, forgotten after 1 s.
pub struct Block(LoopAlive);

impl Subject for Block {
    const NAME: &'static str = "guard/loop_alive";
    type Input = u8;
    type Output = bool;

    fn new() -> Self {
        Self(built!(LoopAlive::new(LoopAliveConfig { overruns: 3, forget_after: millis(1_000) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&u8>) -> u8 {
        previous.copied().unwrap_or(250).wrapping_add(u8::from(random.once_in(24)))
    }

    fn step(&mut self, input: &u8) -> bool {
        self.0.step(*input)
    }
}
