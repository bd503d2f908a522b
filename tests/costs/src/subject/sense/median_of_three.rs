//! A quantity without single outliers.

use trunnion::quantity::Millivolts;
use trunnion::sense::MedianOfThree;

use crate::random::Random;
use crate::scale::Subject;

/// Nothing to configure.
pub struct Block(MedianOfThree<Millivolts>);

impl Subject for Block {
    const NAME: &'static str = "sense/median_of_three";
    type Input = Millivolts;
    type Output = Millivolts;

    fn new() -> Self {
        Self(MedianOfThree::new())
    }

    fn input(random: &mut Random, previous: Option<&Millivolts>) -> Millivolts {
        random.quantity(previous.copied(), 0, 5_000)
    }

    fn step(&mut self, input: &Millivolts) -> Millivolts {
        self.0.step(*input)
    }
}
