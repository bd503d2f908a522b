//! Slows a cylinder before its end.

use crate::subject::{measured, permille};
use trunnion::quantity::Ratio;
use trunnion::sense::Reading;
use trunnion::work::{Cushion, EndCushion, EndCushionConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Over 100 ‰ to 200 ‰ at one end, over 200 ‰ to 100 ‰ at the other.
pub struct Block(EndCushion);

impl Subject for Block {
    const NAME: &'static str = "work/end_cushion";
    type Input = (Ratio, Reading<Ratio>);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(EndCushion::new(EndCushionConfig {
            positive: Cushion { zone: permille(100), end_speed: permille(200) },
            negative: Cushion { zone: permille(200), end_speed: permille(100) },
        })))
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
