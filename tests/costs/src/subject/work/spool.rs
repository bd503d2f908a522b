//! The lever over the allowed opening of a spool.

use crate::subject::{measured, permille};
use trunnion::quantity::Ratio;
use trunnion::work::{Spool, SpoolConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// 900 ‰ and 600 ‰.
pub struct Block(Spool);

impl Subject for Block {
    const NAME: &'static str = "work/spool";
    type Input = (Ratio, Ratio);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(Spool::new(SpoolConfig { positive: permille(900), negative: permille(600) })))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        (
            random.ratio(previous.map(|(intent, _)| *intent)),
            measured::share(random, previous.map(|(_, share)| *share)),
        )
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.to_bits();
        into[1] = input.1.to_bits();
        2
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.to_bits();
        1
    }
}
