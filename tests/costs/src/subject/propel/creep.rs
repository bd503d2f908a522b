//! The whole lever over a small share of the speed.

use crate::subject::permille;
use trunnion::propel::{Creep, CreepConfig, CreepInputs};
use trunnion::quantity::{Permille, Ratio};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// 50 to 500 ‰, at power-up 200 ‰, by 25 ‰ a press.
pub struct Block(Creep);

impl Subject for Block {
    const NAME: &'static str = "propel/creep";
    type Input = CreepInputs;
    type Output = (Ratio, bool, Permille);

    fn new() -> Self {
        Self(built!(Creep::new(CreepConfig {
            slowest: permille(50),
            fastest: permille(500),
            first: permille(200),
            increment: permille(25),
        })))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        CreepInputs {
            drive: random.ratio(previous.map(|inputs| inputs.drive)),
            toggle: random.once_in(60),
            faster: random.once_in(30),
            slower: random.once_in(30),
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let drive = self.0.step(*input);
        (drive, self.0.is_on(), self.0.share())
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.drive.to_bits();
        into[1] = input.toggle.into();
        into[2] = input.faster.into();
        into[3] = input.slower.into();
        4
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.to_bits();
        into[1] = output.1.into();
        into[2] = output.2.raw().into();
        3
    }
}
