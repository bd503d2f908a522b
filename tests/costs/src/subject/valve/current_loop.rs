//! Closed loop for the current of one coil.

use crate::subject::{COIL_TICK, measured, millis};
use trunnion::quantity::{Centiohms, Duty, Milliamps, Millivolts};
use trunnion::valve::{CurrentLoop, CurrentLoopConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// A pump coil of the loader.
pub struct Block(CurrentLoop);

/// 5.3 Ω, 4 ms.
pub(super) const CONTROL: CurrentLoopConfig = CurrentLoopConfig {
    resistance: Centiohms::saturating(530),
    time_constant: millis(4),
    proportional: Centiohms::saturating(530),
    integral_time: millis(6),
    lowest_supply: Millivolts::saturating(7000),
    highest_supply: Millivolts::saturating(16_500),
    largest: Milliamps::saturating(1600),
};

impl Subject for Block {
    const NAME: &'static str = "valve/current_loop";
    type Input = (Milliamps, Milliamps, Option<Millivolts>);
    type Output = (Duty, bool);

    fn new() -> Self {
        Self(built!(CurrentLoop::new(CONTROL, COIL_TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let (set, carried) = measured::coil(random, previous.map(|(set, carried, _)| (*set, *carried)));
        (set, carried, measured::supply(random, previous.map(|(_, _, supply)| *supply)))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let duty = self.0.step(input.0, input.1, input.2);
        (duty, self.0.saturated())
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.raw().into();
        into[1] = input.1.raw().into();
        into[2] = input.2.is_some().into();
        into[3] = input.2.map_or(0, |supply| supply.raw().into());
        4
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.raw().into();
        into[1] = output.1.into();
        2
    }
}
