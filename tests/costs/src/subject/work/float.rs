//! Lets the boom follow the ground.

use crate::subject::{measured, permille};
use trunnion::work::{Float, FloatConfig, FloatInputs};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Ends at a raise of 50 ‰.
pub struct Block(Float);

impl Subject for Block {
    const NAME: &'static str = "work/float";
    type Input = FloatInputs;
    type Output = bool;

    fn new() -> Self {
        Self(built!(Float::new(FloatConfig { raise: permille(50) })))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        FloatInputs {
            request: random.once_in(30),
            lever: random.ratio(previous.map(|inputs| inputs.lever)),
            permitted: measured::mostly(random, previous.map(|inputs| inputs.permitted), 200, 30),
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.request.into();
        into[1] = input.lever.to_bits();
        into[2] = input.permitted.into();
        3
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = i32::from(*output);
        1
    }
}
