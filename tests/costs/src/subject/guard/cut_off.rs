//! The start-up test of the output that cuts the supply of all coils.

use trunnion::guard::{CutOffState, CutOffTest, CutOffTestConfig};
use trunnion::quantity::Millivolts;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis};

/// Off at 3 V, on at 6 V, 100 ms to settle.
pub struct Block(CutOffTest);

impl Subject for Block {
    const NAME: &'static str = "guard/cut_off";
    type Input = Millivolts;
    /// The state, and whether the supply shall be on.
    type Output = (CutOffState, bool);

    fn new() -> Self {
        Self(built!(CutOffTest::new(
            CutOffTestConfig {
                settle: millis(100),
                low: Millivolts::saturating(3_000),
                high: Millivolts::saturating(6_000),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Millivolts>) -> Millivolts {
        measured::switched_supply(random, previous.copied())
    }

    fn step(&mut self, read_back: &Millivolts) -> Self::Output {
        let state = self.0.step(*read_back);
        (state, self.0.supply_on())
    }

    fn input_words(read_back: &Millivolts, into: &mut Words) -> usize {
        into[0] = read_back.raw().into();
        1
    }

    fn output_words((state, on): &Self::Output, into: &mut Words) -> usize {
        into[0] = *state as i32;
        into[1] = i32::from(*on);
        2
    }
}
