//! A level that counts later.

use trunnion::timing::{OnDelay, OnDelayConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// 100 ms.
pub struct Block(OnDelay);

impl Subject for Block {
    const NAME: &'static str = "timing/on_delay";
    type Input = bool;
    type Output = bool;

    fn new() -> Self {
        Self(built!(OnDelay::new(OnDelayConfig { delay: millis(100) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 10)
    }

    fn step(&mut self, input: &bool) -> bool {
        self.0.step(*input)
    }
}
