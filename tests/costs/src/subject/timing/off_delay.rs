//! A level that goes on for a while.

use trunnion::timing::{OffDelay, OffDelayConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// 300 ms.
pub struct Block(OffDelay);

impl Subject for Block {
    const NAME: &'static str = "timing/off_delay";
    type Input = bool;
    type Output = bool;

    fn new() -> Self {
        Self(built!(OffDelay::new(OffDelayConfig { delay: millis(300) }, TICK)))
    }

    /// Pauses as often longer as shorter.
    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 30)
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
