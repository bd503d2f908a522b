//! Largest speeds, before the mix and behind it.

use crate::subject::permille;
use trunnion::propel::{Sides, SpeedLimits, SpeedLimitsConfig};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Forward 1000 ‰, reverse 800 ‰, rotation 700 ‰.
pub struct Block(SpeedLimits);

impl Subject for Block {
    const NAME: &'static str = "propel/speed_limits";
    type Input = Sides;
    type Output = (Sides, Ratio, Ratio);

    fn new() -> Self {
        Self(built!(SpeedLimits::new(SpeedLimitsConfig {
            forward: permille(1000),
            reverse: permille(800),
            rotation: permille(700),
        })))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        Sides {
            left: random.ratio(previous.map(|sides| sides.left)),
            right: random.ratio(previous.map(|sides| sides.right)),
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (drive, steer) = self.0.step(input.left, input.right);
        (self.0.apply(*input), drive, steer)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.left.to_bits();
        into[1] = input.right.to_bits();
        2
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.left.to_bits();
        into[1] = output.0.right.to_bits();
        into[2] = output.1.to_bits();
        into[3] = output.2.to_bits();
        4
    }
}
