//! A ramp without a jolt at either end.

use trunnion::quantity::Ratio;
use trunnion::ramp::{JerkLimit, JerkLimitConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// Full scale in 1 s, full rate in 300 ms.
pub struct Block(JerkLimit);

impl Subject for Block {
    const NAME: &'static str = "ramp/jerk_limit";
    type Input = Ratio;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(JerkLimit::new(
            JerkLimitConfig { full_scale: millis(1_000), build_up: millis(300) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        random.ratio(previous.copied())
    }

    fn step(&mut self, input: &Ratio) -> Ratio {
        self.0.step(*input)
    }
}
