//! The step in which a level became true.

use trunnion::timing::RisingEdge;

use crate::random::Random;
use crate::scale::Subject;

/// Nothing to configure.
pub struct Block(RisingEdge);

impl Subject for Block {
    const NAME: &'static str = "timing/rising_edge";
    type Input = bool;
    type Output = bool;

    fn new() -> Self {
        Self(RisingEdge::new())
    }

    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 4)
    }

    fn step(&mut self, input: &bool) -> bool {
        self.0.step(*input)
    }
}
