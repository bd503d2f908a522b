//! How fast a share is withdrawn and given back.

use trunnion::quantity::Ratio;
use trunnion::ramp::{DerateRamp, DerateRampConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// Withdrawn in 2 s, given back in 10 s.
pub struct Block(DerateRamp);

impl Subject for Block {
    const NAME: &'static str = "ramp/derate_ramp";
    type Input = Ratio;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(DerateRamp::new(
            DerateRampConfig { withdraw: millis(2_000), restore: millis(10_000) },
            TICK
        )))
    }

    /// Held for long, because a share is given back slowly.
    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        match previous {
            Some(asked) if !random.once_in(8) => *asked,
            previous => random.ratio(previous.copied()).magnitude(),
        }
    }

    fn step(&mut self, asked: &Ratio) -> Ratio {
        self.0.step(*asked)
    }

    fn input_words(asked: &Ratio, into: &mut Words) -> usize {
        into[0] = asked.to_bits();
        1
    }

    fn output_words(share: &Ratio, into: &mut Words) -> usize {
        into[0] = share.to_bits();
        1
    }
}
