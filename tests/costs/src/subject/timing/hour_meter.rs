//! How long an engine ran over the life of a machine.

use trunnion::timing::{HourMeter, Seconds};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::TICK;

/// 4321 hours on the clock.
pub struct Block(HourMeter);

impl Subject for Block {
    const NAME: &'static str = "timing/hour_meter";
    type Input = bool;
    type Output = (bool, u32);

    fn new() -> Self {
        Self(const { HourMeter::new(Seconds::from_ticks(4_321 * 3_600), TICK) })
    }

    /// Runs and stands for seconds.
    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 200)
    }

    fn step(&mut self, level: &bool) -> Self::Output {
        let second = self.0.step(*level);
        (second, self.0.total().ticks())
    }

    fn input_words(level: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*level);
        1
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = i32::from(output.0);
        into[1] = output.1.cast_signed();
        2
    }
}
