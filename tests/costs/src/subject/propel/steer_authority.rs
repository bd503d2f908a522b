//! Less steer at speed.

use crate::subject::{measured, permille};
use trunnion::propel::{SteerAuthority, SteerAuthorityConfig};
use trunnion::quantity::{Ratio, Rpm};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Whole up to 60 rpm, 400 ‰ from 180 rpm on.
pub struct Block(SteerAuthority);

impl Subject for Block {
    const NAME: &'static str = "propel/steer_authority";
    type Input = (Ratio, Reading<Rpm>);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(SteerAuthority::new(SteerAuthorityConfig {
            slow: Rpm::from_whole(60),
            fast: Rpm::from_whole(180),
            floor: permille(400),
        })))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        (
            random.ratio(previous.map(|(steer, _)| *steer)),
            measured::reading(random, previous.map(|(_, speed)| *speed), |random, previous| {
                measured::rpm(random, previous, (-250, 250))
            }),
        )
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.to_bits();
        into[1] = input.1.is_valid().into();
        into[2] = input.1.or(Rpm::ZERO).raw();
        3
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.to_bits();
        1
    }
}
