//! Straight ahead is straight.

use crate::subject::permille;
use trunnion::propel::{Sides, Trim, TrimConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// The right side gets 30 ‰ less.
pub struct Block(Trim);

impl Subject for Block {
    const NAME: &'static str = "propel/trim";
    type Input = Sides;
    type Output = Sides;

    fn new() -> Self {
        Self(built!(Trim::new(TrimConfig { left: permille(0), right: permille(30) })))
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
