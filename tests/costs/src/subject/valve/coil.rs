//! One coil in the fast loop.

use super::current_loop::CONTROL;
use crate::subject::{COIL_TICK, measured, millis, permille};
use trunnion::quantity::{Duty, Milliamps, Millivolts};
use trunnion::valve::{Coil, CoilConfig, DitherConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// A pump coil of the loader.
pub struct Block(Coil);

/// A pump coil of the loader.
pub(super) const COIL: CoilConfig = CoilConfig {
    control: CONTROL,
    dither: DitherConfig { amplitude: Milliamps::saturating(40), cycle: millis(10) },
    averaging: millis(10),
    tolerance: permille(120),
    offset: Milliamps::saturating(40),
    stray: Milliamps::saturating(150),
};

impl Subject for Block {
    const NAME: &'static str = "valve/coil";
    type Input = (Milliamps, Milliamps, Option<Millivolts>);
    type Output = Duty;

    fn new() -> Self {
        Self(built!(Coil::new(COIL, COIL_TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let (set, carried) = measured::coil(random, previous.map(|(set, carried, _)| (*set, *carried)));
        (set, carried, measured::supply(random, previous.map(|(_, _, supply)| *supply)))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1, input.2)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.raw().into();
        into[1] = input.1.raw().into();
        into[2] = input.2.is_some().into();
        into[3] = input.2.map_or(0, |supply| supply.raw().into());
        4
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.raw().into();
        1
    }
}
