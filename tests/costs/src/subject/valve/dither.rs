//! A set-point that trembles.

use trunnion::quantity::Milliamps;
use trunnion::valve::{Dither, DitherConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{COIL_TICK, milliamps, millis};

/// 30 mA, 10 ms; coil loop.
pub struct Block(Dither);

impl Subject for Block {
    const NAME: &'static str = "valve/dither";
    type Input = Milliamps;
    type Output = Milliamps;

    fn new() -> Self {
        Self(built!(Dither::new(DitherConfig { amplitude: milliamps(30), cycle: millis(10) }, COIL_TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Milliamps>) -> Milliamps {
        random.set_point(previous.copied())
    }

    fn step(&mut self, input: &Milliamps) -> Milliamps {
        self.0.step(*input)
    }
}
