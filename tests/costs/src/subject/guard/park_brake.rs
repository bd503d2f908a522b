//! The spring-applied park brake.

use trunnion::guard::{ParkBrake, ParkBrakeConfig, ParkBrakeInputs, ParkBrakeState};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// 1.5 s for a stop.
pub struct Block(ParkBrake);

impl Subject for Block {
    const NAME: &'static str = "guard/park_brake";
    type Input = ParkBrakeInputs;
    type Output = ParkBrakeState;

    fn new() -> Self {
        Self(built!(ParkBrake::new(ParkBrakeConfig { stop_time_out: millis(1_500) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&ParkBrakeInputs>) -> ParkBrakeInputs {
        let before = previous.copied();
        let pressure_turns_in =
            if before.is_some_and(|inputs| inputs.charge_pressure_good) { 600 } else { 20 };
        ParkBrakeInputs {
            permitted: random.level(before.map(|inputs| inputs.permitted), 120),
            charge_pressure_good: random
                .level(before.map(|inputs| inputs.charge_pressure_good), pressure_turns_in),
            standstill: random.level(before.map(|inputs| inputs.standstill), 120),
        }
    }

    fn step(&mut self, inputs: &ParkBrakeInputs) -> ParkBrakeState {
        self.0.step(*inputs)
    }

    fn input_words(inputs: &ParkBrakeInputs, into: &mut Words) -> usize {
        into[0] = inputs.permitted.into();
        into[1] = inputs.charge_pressure_good.into();
        into[2] = inputs.standstill.into();
        3
    }

    fn output_words(state: &ParkBrakeState, into: &mut Words) -> usize {
        into[0] = *state as i32;
        1
    }
}
