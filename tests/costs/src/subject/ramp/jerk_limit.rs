//! A ramp of one command without a jolt.

use crate::subject::{TICK, millis};
use trunnion::quantity::Ratio;
use trunnion::ramp::{JerkLimit, JerkLimitConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Full scale in 800 ms, its rate built up in 200 ms.
pub struct Block(JerkLimit);

impl Subject for Block {
    const NAME: &'static str = "ramp/jerk_limit";
    type Input = Ratio;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(JerkLimit::new(JerkLimitConfig { full_scale: millis(800), build_up: millis(200) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        random.ratio(previous.copied())
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.to_bits();
        1
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.to_bits();
        1
    }
}
