//! The step in which a level became false.

use trunnion::timing::FallingEdge;

use crate::random::Random;
use crate::scale::Subject;

/// Nothing to configure.
pub struct Block(FallingEdge);

impl Subject for Block {
    const NAME: &'static str = "timing/falling_edge";
    type Input = bool;
    type Output = bool;

    fn new() -> Self {
        Self(FallingEdge::new())
    }

    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 4)
    }

    fn step(&mut self, input: &bool) -> bool {
        self.0.step(*input)
    }
}
