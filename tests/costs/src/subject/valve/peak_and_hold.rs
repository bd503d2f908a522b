//! A coil that is on or off, and cooler when on.

use crate::subject::{COIL_TICK, measured, millis};
use trunnion::quantity::{Duty, Millivolts};
use trunnion::valve::{PeakAndHold, PeakAndHoldConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// 150 ms of peak, then 4 V; supply 8 to 16 V.
pub struct Block(PeakAndHold);

impl Subject for Block {
    const NAME: &'static str = "valve/peak_and_hold";
    type Input = (bool, Option<Millivolts>);
    type Output = Duty;

    fn new() -> Self {
        Self(built!(PeakAndHold::new(
            PeakAndHoldConfig {
                peak: millis(150),
                hold: Millivolts::saturating(4000),
                lowest_supply: Millivolts::saturating(8000),
                highest_supply: Millivolts::saturating(16_000),
            },
            COIL_TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        (
            random.level(previous.map(|(on, _)| *on), 500),
            measured::supply(random, previous.map(|(_, supply)| *supply)),
        )
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.into();
        into[1] = input.1.is_some().into();
        into[2] = input.1.map_or(0, |supply| supply.raw().into());
        3
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.raw().into();
        1
    }
}
