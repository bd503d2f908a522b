//! Watches whether a coil carries its current.

use crate::subject::{COIL_TICK, measured, millis, permille};
use trunnion::quantity::{Centiohms, Duty, Milliamps, Millivolts};
use trunnion::valve::{CoilConditions, CoilMonitor, CoilMonitorConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// A pump coil of the loader.
pub struct Block(CoilMonitor);

impl Subject for Block {
    const NAME: &'static str = "valve/coil_monitor";
    type Input = (Milliamps, Milliamps, Duty, Millivolts);
    type Output = CoilConditions;

    fn new() -> Self {
        Self(built!(CoilMonitor::new(
            CoilMonitorConfig {
                resistance: Centiohms::saturating(530),
                blanking: millis(20),
                averaging: millis(10),
                tolerance: permille(120),
                offset: Milliamps::saturating(40),
                stray: Milliamps::saturating(150),
            },
            COIL_TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let coil = previous.map(|(set, carried, _, _)| (*set, *carried));
        let (set, carried) = measured::coil(random, coil);
        let supply = random.moved(previous.map(|(_, _, _, supply)| supply.raw().into()), 9000, 16_000);
        // Mostly what 5.3 Ω need at this supply, now and then anything.
        let fitting = i64::from(carried.raw()).saturating_mul(53_000).checked_div(supply.into()).unwrap_or(0);
        let odd = i64::from(random.below(10_001));
        let duty = match previous {
            Some((_, _, duty, _)) if random.below(4) == 0 => *duty,
            _ => Duty::saturating(if random.once_in(20) { odd } else { fitting }),
        };
        (set, carried, duty, Millivolts::saturating(supply.into()))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1, input.2, input.3)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.raw().into();
        into[1] = input.1.raw().into();
        into[2] = input.2.raw().into();
        into[3] = input.3.raw().into();
        4
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.bits().into();
        1
    }
}
