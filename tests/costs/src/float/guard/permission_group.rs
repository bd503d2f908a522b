//! A group of functions with a permission of its own, its times in `f32`.

use trunnion::guard::{GateState, NeutralStartInputs, Permission, Reasons, StartPhase, StopKind};

use crate::float::guard::last_gate::LastGate;
use crate::float::guard::neutral_start::NeutralStart;
use crate::float::sensed::level;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::permission_group::Block;

const STOPPING: u8 = 0;
const NOT_NEUTRAL: u8 = 1;
const NOT_ASKED: u8 = 2;

/// Neutral start, last gate, and how it is being stopped.
pub struct Twin {
    start: NeutralStart,
    gate: LastGate,
    stop: StopKind,
}

/// What decides, and what is seen behind the ramps; currents in mA.
#[derive(Clone, Copy)]
pub struct Group {
    reasons: Reasons,
    immediate: Reasons,
    start: NeutralStartInputs,
    ramps_at_zero: bool,
    measured: f32,
}

impl Twin {
    fn permission(&mut self, group: &Group) -> Permission {
        let was_permitted = self.start.phase() == StartPhase::Permitted;
        let reasons = group.reasons.with_if(STOPPING, self.stop == StopKind::Controlled);
        let phase = self.start.step(&NeutralStartInputs { conditions: reasons.is_empty(), ..group.start });
        let permitted = phase == StartPhase::Permitted;
        self.stop = if permitted {
            StopKind::None
        } else if !reasons.intersection(group.immediate).is_empty() {
            StopKind::Immediate
        } else if was_permitted {
            StopKind::Controlled
        } else {
            self.stop
        };
        let why_not = if permitted {
            Reasons::none()
        } else {
            let held = !group.start.neutral || phase == StartPhase::NotNeutral;
            reasons.with_if(NOT_NEUTRAL, held).with_if(NOT_ASKED, self.start.must_ask())
        };
        Permission { permitted, stop: self.stop, phase, why_not }
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = Group;
    type Output = (Permission, GateState);

    // The quantity and the time are exact in `f32`, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0, 0.0, 0.0, 0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { start: NeutralStart::with(300.0, 3), gate: LastGate::with(50.0, 150.0), stop: StopKind::None }
    }

    fn input(words: &Words) -> Self::Input {
        Group {
            reasons: Reasons::from_bits(words[0].cast_unsigned()),
            immediate: Reasons::from_bits(words[1].cast_unsigned()),
            start: NeutralStartInputs {
                conditions: false,
                neutral: words[2] != 0,
                new_frame: words[3] != 0,
                ask: words[4] != 0,
                ask_required: words[5] != 0,
            },
            ramps_at_zero: words[6] != 0,
            measured: words[7] as f32,
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let permission = self.permission(input);
        if self.stop == StopKind::Controlled && input.ramps_at_zero {
            self.stop = StopKind::None;
        }
        let open = permission.permitted || self.stop == StopKind::Controlled;
        (permission, self.gate.step(open, input.measured))
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(output.0.permitted);
        into[1] = f32::from(output.0.stop as u8);
        into[2] = f32::from(output.0.phase as u8);
        into[3] = output.0.why_not.bits() as f32;
        into[4] = f32::from(output.1 as u8);
        5
    }
}
