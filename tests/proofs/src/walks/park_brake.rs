//! The spring-applied park brake.

use trunnion::guard::{ParkBrake, ParkBrakeConfig, ParkBrakeInputs, ParkBrakeState};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    time_out: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    state: ParkBrakeState,
    stopping: Run,
}

impl Walked for Rules {
    type Block = ParkBrake;
    type Input = ParkBrakeInputs;
    type Output = ParkBrakeState;
    type Memory = Memory;

    fn block(&self) -> ParkBrake {
        ParkBrake::new(ParkBrakeConfig { stop_time_out: ticks(self.time_out) }, TICK)
            .expect("a time in range")
    }

    fn inputs(&self) -> Vec<ParkBrakeInputs> {
        (0..8)
            .map(|number| ParkBrakeInputs {
                permitted: number & 1 != 0,
                charge_pressure_good: number & 2 != 0,
                standstill: number & 4 != 0,
            })
            .collect()
    }

    fn step(block: &mut ParkBrake, inputs: ParkBrakeInputs) -> ParkBrakeState {
        block.step(inputs)
    }

    fn remember(&self, memory: &mut Memory, _: ParkBrakeInputs, state: ParkBrakeState) {
        memory.stopping.note(state == ParkBrakeState::Stopping);
        memory.state = state;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use ParkBrakeState::{Applied, Released, Stopping};
        vec![
            always("without charge pressure it is applied in the same step", |now| {
                now.input.charge_pressure_good || now.output == Applied
            }),
            always("it is released exactly with permission and charge pressure", |now| {
                (now.output == Released) == (now.input.permitted && now.input.charge_pressure_good)
            }),
            always("an applied brake is not opened for a stop", |now| {
                now.before.state != Applied || now.output != Stopping
            }),
            always("at standstill without permission it is applied", |now| {
                now.input.permitted || !now.input.standstill || now.output == Applied
            }),
            always("a stop holds it open for the time-out at most", |now| {
                now.after.stopping.steps() <= now.rules.time_out
            }),
            always(
                "a moving machine is not braked before the time-out while charge pressure is there",
                |now| {
                    let stopping = now.before.state != Applied && !now.input.permitted;
                    let waits = stopping && now.input.charge_pressure_good && !now.input.standstill;
                    !waits || now.before.stopping.steps() >= now.rules.time_out || now.output == Stopping
                },
            ),
            sometimes("a stop ends with the time-out", |now| {
                now.output == Applied
                    && now.before.stopping.steps() == now.rules.time_out
                    && now.input.charge_pressure_good
                    && !now.input.standstill
            }),
            sometimes("permission that comes back during a stop releases it", |now| {
                now.before.state == Stopping && now.output == Released
            }),
            planted("a stop is one step shorter", |now| now.after.stopping.steps() < now.rules.time_out),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("park_brake", "guard/park_brake", "time-out of 1 to 4 steps", |bench| {
        family(bench, "park_brake", &[1, 2, 3, 4].map(|time_out| Rules { time_out }))
    })
}
