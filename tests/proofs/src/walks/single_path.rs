//! One pump, one path, and the brake in step with it.

use trunnion::propel::{SinglePath, SinglePathConfig, SinglePathInputs, SinglePathState};
use trunnion::quantity::Ratio;

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    opening: u32,
    rest: u32,
    stop: u32,
}

/// The command, the state, and whether the brake valve is on.
type Answer = (Ratio, SinglePathState, bool);

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    state: SinglePathState,
    /// The brake valve was on.
    open: Run,
    stopping: Run,
    /// Nothing asked and at rest.
    at_rest: Run,
}

fn powered(now: &Moment<'_, Rules>) -> bool {
    now.input.permitted && now.input.charge_pressure_good
}

impl Walked for Rules {
    type Block = SinglePath;
    type Input = SinglePathInputs;
    type Output = Answer;
    type Memory = Memory;

    fn block(&self) -> SinglePath {
        let config = SinglePathConfig {
            brake_opens_in: ticks(self.opening),
            apply_after: ticks(self.rest),
            stop_time_out: ticks(self.stop),
        };
        SinglePath::new(config, TICK).expect("times in range")
    }

    fn inputs(&self) -> Vec<SinglePathInputs> {
        let drives = [Ratio::ZERO, Ratio::ONE, Ratio::saturating(-1)];
        (0..8)
            .flat_map(|number| {
                drives.map(|drive| SinglePathInputs {
                    permitted: number & 1 != 0,
                    charge_pressure_good: number & 2 != 0,
                    drive,
                    standstill: number & 4 != 0,
                })
            })
            .collect()
    }

    fn step(block: &mut SinglePath, inputs: SinglePathInputs) -> Answer {
        let command = block.step(inputs);
        (command, block.state(), block.brake_open())
    }

    fn remember(&self, memory: &mut Memory, inputs: SinglePathInputs, (_, state, open): Answer) {
        memory.open.note(open);
        memory.stopping.note(state == SinglePathState::Stopping);
        let was_driving = memory.state == SinglePathState::Driving;
        memory.at_rest.note(was_driving && inputs.drive.is_zero() && inputs.standstill);
        memory.state = state;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use SinglePathState::{Braked, Driving, Opening, Stopping};
        vec![
            always("a command is given only while driving, and then it is the lever's", |now| {
                now.output.0 == if now.output.1 == Driving { now.input.drive } else { Ratio::ZERO }
            }),
            always("the brake is open in every state but braked", |now| {
                now.output.2 == (now.output.1 != Braked)
            }),
            always("it drives only with permission and charge pressure", |now| {
                now.output.1 != Driving || powered(now)
            }),
            always("the pump never works before the brake had its time to open", |now| {
                now.output.1 != Driving || now.after.open.steps() > now.rules.opening
            }),
            always("without charge pressure it is braked in the same step", |now| {
                now.input.charge_pressure_good || now.output.1 == Braked
            }),
            always("the brake does not come on while driving with a lever out of neutral", |now| {
                let drives = now.before.state == Driving && powered(now) && !now.input.drive.is_zero();
                !drives || now.output.1 == Driving
            }),
            always("with nothing asked, at rest for longer than the time, it is braked", |now| {
                now.after.at_rest.steps() <= now.rules.rest || now.output.1 != Driving
            }),
            always("a stop is braked at standstill, at the latest after the time-out", |now| {
                let at_standstill = now.before.state == Stopping && now.input.standstill;
                (!at_standstill || now.output.1 == Braked) && now.after.stopping.steps() <= now.rules.stop
            }),
            always("permission that comes back during a stop does not drive on", |now| {
                now.before.state != Stopping || matches!(now.output.1, Stopping | Braked)
            }),
            always("a lever that is let go of while the brake opens closes it", |now| {
                now.before.state != Opening || !now.input.drive.is_zero() || now.output.1 == Braked
            }),
            sometimes("it drives", |now| now.output.1 == Driving),
            sometimes("a stop is braked by the time-out", |now| {
                now.before.state == Stopping
                    && now.output.1 == Braked
                    && now.input.charge_pressure_good
                    && !now.input.standstill
            }),
            sometimes("it is braked at rest", |now| {
                now.before.state == Driving && now.output.1 == Braked && powered(now)
            }),
            planted("a stop takes one step less", |now| now.after.stopping.steps() < now.rules.stop),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "opening and rest of 0 to 2 steps, time-out of 1 to 3 steps, each with each";
    entry::<Rules>("single_path", "propel/single_path", family_of, |bench| {
        let rules: Vec<Rules> = (0..3)
            .flat_map(|opening| {
                (0..3).flat_map(move |rest| (1..4).map(move |stop| Rules { opening, rest, stop }))
            })
            .collect();
        family(bench, "single_path", &rules)
    })
}
