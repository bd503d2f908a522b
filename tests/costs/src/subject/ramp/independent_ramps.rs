//! Two ramps that know nothing of each other.

use crate::subject::{TICK, millis};
use trunnion::propel::Sides;
use trunnion::ramp::{IndependentRamps, MotionRampConfig, MotionRates};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Positive 350, 200 and 150 ms to accelerate, decelerate and reverse; negative 450, 250 and 180 ms; dwell 50 ms.
pub struct Block(IndependentRamps);

const CONFIG: MotionRampConfig =
    MotionRampConfig { positive: rates(350, 200, 150), negative: rates(450, 250, 180), dwell: millis(50) };

const fn rates(accelerate: u32, decelerate: u32, reverse: u32) -> MotionRates {
    MotionRates { accelerate: millis(accelerate), decelerate: millis(decelerate), reverse: millis(reverse) }
}

impl Subject for Block {
    const NAME: &'static str = "ramp/independent_ramps";
    type Input = Sides;
    type Output = Sides;

    fn new() -> Self {
        Self(built!(IndependentRamps::new(CONFIG, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        Sides {
            left: random.ratio(previous.map(|sides| sides.left)),
            right: random.ratio(previous.map(|sides| sides.right)),
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.left.to_bits();
        into[1] = input.right.to_bits();
        2
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.left.to_bits();
        into[1] = output.right.to_bits();
        2
    }
}
