//! The brake may open, must close.

use trunnion::guard::{ParkBrake, ParkBrakeConfig, ParkBrakeInputs, ParkBrakeState};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::{TICK, millis};

/// Closes 3 s after a stop was asked for.
pub struct Block(ParkBrake);

impl Subject for Block {
    const NAME: &'static str = "guard/park_brake";
    type Input = ParkBrakeInputs;
    type Output = ParkBrakeState;

    fn new() -> Self {
        Self(built!(ParkBrake::new(ParkBrakeConfig { stop_time_out: millis(3_000) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&ParkBrakeInputs>) -> ParkBrakeInputs {
        ParkBrakeInputs {
            permitted: random.level(previous.map(|before| before.permitted), 80),
            charge_pressure_good: random.level(previous.map(|before| before.charge_pressure_good), 160),
            standstill: random.level(previous.map(|before| before.standstill), 100),
        }
    }

    fn step(&mut self, input: &ParkBrakeInputs) -> ParkBrakeState {
        self.0.step(*input)
    }
}

impl Spelled for ParkBrakeInputs {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.permitted.spell(into, at);
        let at = self.charge_pressure_good.spell(into, at);
        self.standstill.spell(into, at)
    }
}
