//! Two opposite coils in the fast loop.

use super::coil::COIL;
use crate::subject::{COIL_TICK, measured, millis};
use trunnion::quantity::{Duty, Milliamps, Millivolts};
use trunnion::valve::{CoilPair, CoilPairConfig, PairExclusionConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// The coils of one pump of the loader, released at 80 mA for 20 ms.
pub struct Block(CoilPair);

const EXCLUSION: PairExclusionConfig =
    PairExclusionConfig { released: Milliamps::saturating(80), pause: millis(20) };

impl Subject for Block {
    const NAME: &'static str = "valve/coil_pair";
    type Input = (measured::PairCurrents, Option<Millivolts>);
    type Output = (Duty, Duty);

    fn new() -> Self {
        Self(built!(CoilPair::new(CoilPairConfig { a: COIL, b: COIL, exclusion: EXCLUSION }, COIL_TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        (
            measured::pair(random, previous.map(|(pair, _)| pair)),
            measured::supply(random, previous.map(|(_, supply)| *supply)),
        )
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let ([(set_a, measured_a), (set_b, measured_b)], supply) = *input;
        self.0.step((set_a, set_b), (measured_a, measured_b), supply)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0[0].0.raw().into();
        into[1] = input.0[1].0.raw().into();
        into[2] = input.0[0].1.raw().into();
        into[3] = input.0[1].1.raw().into();
        into[4] = input.1.is_some().into();
        into[5] = input.1.map_or(0, |supply| supply.raw().into());
        6
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.raw().into();
        into[1] = output.1.raw().into();
        2
    }
}
