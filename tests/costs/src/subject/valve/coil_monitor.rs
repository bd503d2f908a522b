//! What is wrong with a coil.

use trunnion::quantity::{Duty, Millivolts};
use trunnion::valve::{CoilConditions, CoilMonitor, CoilMonitorConfig};

use crate::coil_plant::Sensed;
use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::{COIL_TICK, centiohms, milliamps, millis, permille};

/// 5.3 Ω, 20 ms blind after a change, windows of 10 ms; coil loop.
pub struct Block(CoilMonitor);

impl Subject for Block {
    const NAME: &'static str = "valve/coil_monitor";
    type Input = (Sensed, Duty);
    type Output = CoilConditions;

    fn new() -> Self {
        Self(built!(CoilMonitor::new(
            CoilMonitorConfig {
                resistance: centiohms(530),
                blanking: millis(20),
                averaging: millis(10),
                tolerance: permille(100),
                offset: milliamps(40),
                stray: milliamps(60)
            },
            COIL_TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&(Sensed, Duty)>) -> (Sensed, Duty) {
        let duty = random.quantity(previous.map(|before| before.1), 0, 10_000);
        (Sensed::next(random, previous.map(|before| &before.0), duty), duty)
    }

    fn step(&mut self, input: &(Sensed, Duty)) -> CoilConditions {
        let (sensed, duty) = input;
        self.0.step(sensed.set, sensed.measured, *duty, sensed.supply.unwrap_or(Millivolts::MAX))
    }
}

impl Spelled for CoilConditions {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        self.bits().spell(into, at)
    }
}
