//! A group of functions with neutral start, stop and last gate.

use trunnion::guard::{
    GateState, LastGateConfig, NeutralStartConfig, Permission, PermissionGroup, PermissionGroupConfig,
    PermissionGroupInputs, Reasons, StartReasons, StopKind,
};
use trunnion::quantity::Milliamps;

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    hold: u32,
}

const SEAT: u8 = 0;
const STOP: u8 = 1;
const OWN: StartReasons = StartReasons { stopping: 2, not_neutral: 3, not_asked: 4 };

/// What comes in a period, and whether the ramps behind are at zero.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Period {
    seat_empty: bool,
    stop_pressed: bool,
    neutral: bool,
    ask: bool,
    ramps_at_zero: bool,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    permitted: bool,
    /// A controlled stop is under way behind the gate.
    stopping: bool,
    /// Nothing stood against it, and its levers were released.
    calm: Run,
}

fn reasons(period: &Period) -> Reasons {
    Reasons::none().with_if(SEAT, period.seat_empty).with_if(STOP, period.stop_pressed)
}

fn gate(now: &Moment<'_, Rules>) -> GateState {
    now.output.1
}

impl Walked for Rules {
    type Block = PermissionGroup;
    type Input = Period;
    type Output = (Permission, GateState);
    type Memory = Memory;

    fn block(&self) -> Self::Block {
        let config = PermissionGroupConfig {
            start: NeutralStartConfig { hold: ticks(self.hold), frames: 1 },
            gate: LastGateConfig { decay: ticks(1), stray: Milliamps::saturating(100) },
            reasons: OWN,
        };
        PermissionGroup::new(config, TICK).expect("rules in range")
    }

    fn inputs(&self) -> Vec<Self::Input> {
        (0..32_u8)
            .map(|bits| {
                let bit = |place: u8| bits & (1 << place) != 0;
                Period {
                    seat_empty: bit(0),
                    stop_pressed: bit(1),
                    neutral: bit(2),
                    ask: bit(3),
                    ramps_at_zero: bit(4),
                }
            })
            .collect()
    }

    fn step(block: &mut Self::Block, period: Period) -> Self::Output {
        let permission = block.step(PermissionGroupInputs {
            reasons: reasons(&period),
            immediate: Reasons::none().with(STOP),
            neutral: period.neutral,
            new_frame: true,
            ask: period.ask,
            ask_required: period.seat_empty,
        });
        (permission, block.gate(&permission, period.ramps_at_zero, Milliamps::ZERO))
    }

    fn remember(&self, memory: &mut Memory, period: Period, (permission, _): Self::Output) {
        memory.stopping = permission.stop == StopKind::Controlled && !period.ramps_at_zero;
        memory.calm.note(reasons(&period).is_empty() && period.neutral && !memory.permitted);
        memory.permitted = permission.permitted;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it is permitted exactly when nothing is left to say why not", |now| {
                now.output.0.permitted == now.output.0.why_not.is_empty()
            }),
            always("a reason takes the permission away in the same step", |now| {
                reasons(&now.input).is_empty() || !now.output.0.permitted
            }),
            always("permission comes only after released levers for longer than the time", |now| {
                !now.output.0.permitted || now.before.permitted || now.after.calm.steps() > now.rules.hold
            }),
            always("the gate is open exactly with permission or in a controlled stop", |now| {
                (gate(now) == GateState::Open) == (now.output.0.permitted || now.after.stopping)
            }),
            always("an immediate reason closes the gate in the same step", |now| {
                !now.input.stop_pressed || gate(now) == GateState::Closed
            }),
            always("a controlled stop follows only a permission or itself", |now| {
                now.output.0.stop != StopKind::Controlled || now.before.permitted || now.before.stopping
            }),
            always("a controlled stop ends before the permission returns", |now| {
                !(now.before.stopping && now.output.0.permitted)
            }),
            sometimes("it is permitted", |now| now.output.0.permitted),
            sometimes("a controlled stop holds the gate open", |now| {
                now.after.stopping && gate(now) == GateState::Open
            }),
            sometimes("an immediate reason breaks off a controlled stop", |now| {
                now.before.stopping && now.output.0.stop == StopKind::Immediate
            }),
            planted("the gate closes with the permission", |now| {
                now.output.0.permitted || gate(now) != GateState::Open
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("permission_group", "guard/permission_group", "neutral for 1 to 3 steps", |bench| {
        family(bench, "permission_group", &[1, 2, 3].map(|hold| Rules { hold }))
    })
}
