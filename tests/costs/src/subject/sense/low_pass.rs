//! A quantity without noise.

use trunnion::quantity::Rpm;
use trunnion::sense::{LowPass, LowPassConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// Time constant 100 ms.
pub struct Block(LowPass<Rpm>);

impl Subject for Block {
    const NAME: &'static str = "sense/low_pass";
    type Input = Rpm;
    type Output = Rpm;

    fn new() -> Self {
        Self(built!(LowPass::new(LowPassConfig { time_constant: millis(100) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Rpm>) -> Rpm {
        random.quantity(previous.copied(), -28_000, 28_000)
    }

    fn step(&mut self, input: &Rpm) -> Rpm {
        self.0.step(*input)
    }
}
