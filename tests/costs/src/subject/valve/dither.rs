//! A square wave around the set-point.

use crate::subject::{COIL_TICK, measured, millis};
use trunnion::quantity::Milliamps;
use trunnion::valve::{Dither, DitherConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// 40 mA, 10 ms.
pub struct Block(Dither);

impl Subject for Block {
    const NAME: &'static str = "valve/dither";
    type Input = Milliamps;
    type Output = Milliamps;

    fn new() -> Self {
        Self(built!(Dither::new(
            DitherConfig { amplitude: Milliamps::saturating(40), cycle: millis(10) },
            COIL_TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        measured::current(random, previous.copied())
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.raw().into();
        1
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.raw().into();
        1
    }
}
