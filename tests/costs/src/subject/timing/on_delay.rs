//! A level that must last before it counts.

use trunnion::timing::{OnDelay, OnDelayConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// 200 ms.
pub struct Block(OnDelay);

impl Subject for Block {
    const NAME: &'static str = "timing/on_delay";
    type Input = bool;
    type Output = bool;

    fn new() -> Self {
        Self(built!(OnDelay::new(OnDelayConfig { delay: millis(200) }, TICK)))
    }

    /// Lasts as often longer as shorter.
    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 20)
    }

    fn step(&mut self, level: &bool) -> Self::Output {
        self.0.step(*level)
    }

    fn input_words(level: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*level);
        1
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = i32::from(*output);
        1
    }
}
