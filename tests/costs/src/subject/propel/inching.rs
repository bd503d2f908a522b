//! Less drive by a pedal.

use crate::subject::{measured, permille};
use trunnion::propel::{Inching, InchingConfig};
use trunnion::quantity::Ratio;
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// From 100 ‰ of the pedal to nothing at 700 ‰.
pub struct Block(Inching);

impl Subject for Block {
    const NAME: &'static str = "propel/inching";
    type Input = (Ratio, Reading<Ratio>);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(Inching::new(InchingConfig { begin: permille(100), full: permille(700) })))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        (
            random.ratio(previous.map(|(command, _)| *command)),
            measured::reading(random, previous.map(|(_, reading)| *reading), measured::share),
        )
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.to_bits();
        into[1] = input.1.is_valid().into();
        into[2] = input.1.or(Ratio::ZERO).to_bits();
        3
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.to_bits();
        1
    }
}
