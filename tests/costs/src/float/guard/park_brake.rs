//! The spring-applied park brake, its time in `f32`.

use trunnion::guard::{ParkBrakeInputs, ParkBrakeState};

use crate::float::sensed::TICK;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::park_brake::Block;

/// Times in ms.
pub struct Twin {
    stop_time_out: f32,
    stopping_for: f32,
    state: ParkBrakeState,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = ParkBrakeInputs;
    type Output = ParkBrakeState;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { stop_time_out: 1_500.0, stopping_for: 0.0, state: ParkBrakeState::Applied }
    }

    fn input(words: &Words) -> Self::Input {
        ParkBrakeInputs {
            permitted: words[0] != 0,
            charge_pressure_good: words[1] != 0,
            standstill: words[2] != 0,
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        if input.permitted && input.charge_pressure_good {
            self.stopping_for = 0.0;
            self.state = ParkBrakeState::Released;
        } else if self.state == ParkBrakeState::Applied
            || !input.charge_pressure_good
            || input.standstill
            || self.stopping_for >= self.stop_time_out
        {
            self.stopping_for = 0.0;
            self.state = ParkBrakeState::Applied;
        } else {
            self.stopping_for += TICK;
            self.state = ParkBrakeState::Stopping;
        }
        self.state
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(*output as u8);
        1
    }
}
