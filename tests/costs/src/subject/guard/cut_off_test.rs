//! The supply of the coils can be cut: looked at once, at start-up.

use trunnion::guard::{CutOffState, CutOffTest, CutOffTestConfig};
use trunnion::quantity::Millivolts;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis, millivolts};

/// Settles in 50 ms, off below 2 V, on above 9 V.
pub struct Block(CutOffTest);

impl Subject for Block {
    const NAME: &'static str = "guard/cut_off_test";
    type Input = Millivolts;
    type Output = CutOffState;

    fn new() -> Self {
        Self(built!(CutOffTest::new(
            CutOffTestConfig { settle: millis(50), low: millivolts(2_000), high: millivolts(9_000) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Millivolts>) -> Millivolts {
        match previous {
            None => Millivolts::ZERO,
            Some(before) if before.raw() < 8_000 && !random.once_in(10) => random.quantity(None, 0, 1_900),
            Some(_) => random.quantity(None, 8_900, 14_000),
        }
    }

    fn step(&mut self, input: &Millivolts) -> CutOffState {
        self.0.step(*input)
    }
}
