//! From a share of full command to a coil current.

use trunnion::quantity::{Milliamps, Ratio};
use trunnion::valve::{CurrentMap, CurrentMapConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// 420 to 1150 mA.
pub struct Block(CurrentMap);

impl Subject for Block {
    const NAME: &'static str = "valve/current_map";
    type Input = Ratio;
    type Output = Milliamps;

    fn new() -> Self {
        Self(built!(CurrentMap::new(CurrentMapConfig {
            threshold: Milliamps::saturating(420),
            end: Milliamps::saturating(1150),
        })))
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
        into[0] = output.raw().into();
        1
    }
}
