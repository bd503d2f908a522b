//! A ramp for each side.

use trunnion::propel::Sides;
use trunnion::ramp::{IndependentRamps, MotionRampConfig, MotionRates};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// 1000, 600, 500 ms on both.
pub struct Block(IndependentRamps);

impl Subject for Block {
    const NAME: &'static str = "ramp/independent_ramps";
    type Input = Sides;
    type Output = Sides;

    fn new() -> Self {
        const RATES: MotionRates =
            MotionRates { accelerate: millis(1_000), decelerate: millis(600), reverse: millis(500) };
        Self(built!(IndependentRamps::new(
            MotionRampConfig { positive: RATES, negative: RATES, dwell: millis(100) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Sides>) -> Sides {
        Sides {
            left: random.ratio(previous.map(|before| before.left)),
            right: random.ratio(previous.map(|before| before.right)),
        }
    }

    fn step(&mut self, input: &Sides) -> Sides {
        self.0.step(*input)
    }
}
