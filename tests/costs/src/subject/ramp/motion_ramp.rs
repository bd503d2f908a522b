//! A ramp of one motion, times by direction and phase.

use trunnion::quantity::Ratio;
use trunnion::ramp::{MotionRamp, MotionRampConfig, MotionRates};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// 1000, 600, 500 ms; 100 ms of rest before it turns round.
pub struct Block(MotionRamp);

impl Subject for Block {
    const NAME: &'static str = "ramp/motion_ramp";
    type Input = Ratio;
    type Output = Ratio;

    fn new() -> Self {
        const RATES: MotionRates =
            MotionRates { accelerate: millis(1_000), decelerate: millis(600), reverse: millis(500) };
        Self(built!(MotionRamp::new(
            MotionRampConfig { positive: RATES, negative: RATES, dwell: millis(100) },
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
