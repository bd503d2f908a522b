//! Two opposite coils, never both.

use crate::subject::{COIL_TICK, measured, millis};
use trunnion::quantity::Milliamps;
use trunnion::valve::{PairExclusion, PairExclusionConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Released at 80 mA for 20 ms.
pub struct Block(PairExclusion);

impl Subject for Block {
    const NAME: &'static str = "valve/pair_exclusion";
    type Input = measured::PairCurrents;
    type Output = (Milliamps, Milliamps);

    fn new() -> Self {
        Self(built!(PairExclusion::new(
            PairExclusionConfig { released: Milliamps::saturating(80), pause: millis(20) },
            COIL_TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        measured::pair(random, previous)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let [(set_a, measured_a), (set_b, measured_b)] = *input;
        self.0.step(set_a, set_b, measured_a, measured_b)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input[0].0.raw().into();
        into[1] = input[1].0.raw().into();
        into[2] = input[0].1.raw().into();
        into[3] = input[1].1.raw().into();
        4
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.raw().into();
        into[1] = output.1.raw().into();
        2
    }
}
