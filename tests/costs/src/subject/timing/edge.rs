//! The step in which a level became true.

use trunnion::timing::RisingEdge;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// It has nothing to set.
pub struct Block(RisingEdge);

impl Subject for Block {
    const NAME: &'static str = "timing/edge";
    type Input = bool;
    type Output = bool;

    fn new() -> Self {
        Self(RisingEdge::new())
    }

    /// Turns over once in eight steps.
    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 8)
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
