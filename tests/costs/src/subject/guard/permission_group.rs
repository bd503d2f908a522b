//! A group of functions with a permission of its own.

use trunnion::guard::{
    GateState, LastGateConfig, NeutralStartConfig, Permission, PermissionGroup, PermissionGroupConfig,
    PermissionGroupInputs, Reasons, StartReasons,
};
use trunnion::quantity::Milliamps;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis};

/// Neutral for 300 ms and three frames; currents decay in 50 ms to 150 mA.
pub struct Block(PermissionGroup);

/// What decides, and what is seen behind the ramps.
#[derive(Clone, Copy)]
pub struct Group {
    inputs: PermissionGroupInputs,
    ramps_at_zero: bool,
    measured: Milliamps,
}

impl Subject for Block {
    const NAME: &'static str = "guard/permission_group";
    type Input = Group;
    type Output = (Permission, GateState);

    fn new() -> Self {
        Self(built!(PermissionGroup::new(
            PermissionGroupConfig {
                start: NeutralStartConfig { hold: millis(300), frames: 3 },
                gate: LastGateConfig { decay: millis(50), stray: Milliamps::saturating(150) },
                reasons: StartReasons { stopping: 0, not_neutral: 1, not_asked: 2 },
            },
            TICK
        )))
    }

    /// Reasons come seldom and go soon; the levers are released now and then; ramps come down after a while.
    fn input(random: &mut Random, previous: Option<&Group>) -> Group {
        let before = previous.copied();
        let mut turns = |level: fn(&Group) -> bool, true_for, false_for| {
            let level = before.as_ref().map(level);
            random.level(level, if level == Some(true) { true_for } else { false_for })
        };
        let neutral = turns(|group| group.inputs.neutral, 80, 40);
        let ask = turns(|group| group.inputs.ask, 5, 20);
        let ask_required = turns(|group| group.inputs.ask_required, 5, 400);
        let ramps_at_zero = turns(|group| group.ramps_at_zero, 60, 40);
        let against = before.map_or(Reasons::none(), |group| group.inputs.reasons);
        let reasons = if random.once_in(if against.is_empty() { 300 } else { 12 }) {
            let bits = if against.is_empty() { random.bits() & random.bits() & 0xF8 } else { 0 };
            Reasons::from_bits(bits)
        } else {
            against
        };
        let inputs = PermissionGroupInputs {
            reasons,
            immediate: Reasons::from_bits(0x18),
            neutral,
            new_frame: random.once_in(2),
            ask,
            ask_required,
        };
        Group {
            inputs,
            ramps_at_zero,
            measured: measured::current(random, before.map(|group| group.measured)),
        }
    }

    fn step(&mut self, group: &Group) -> Self::Output {
        let permission = self.0.step(group.inputs);
        (permission, self.0.gate(&permission, group.ramps_at_zero, group.measured))
    }

    fn input_words(group: &Group, into: &mut Words) -> usize {
        let PermissionGroupInputs { reasons, immediate, neutral, new_frame, ask, ask_required } =
            group.inputs;
        let sets = [reasons, immediate].map(|reasons| reasons.bits().cast_signed());
        let levels = [neutral, new_frame, ask, ask_required, group.ramps_at_zero].map(i32::from);
        let measured = group.measured.raw().into();
        for (word, given) in into.iter_mut().zip(sets.into_iter().chain(levels).chain([measured])) {
            *word = given;
        }
        8
    }

    fn output_words((permission, gate): &Self::Output, into: &mut Words) -> usize {
        into[0] = permission.permitted.into();
        into[1] = permission.stop as i32;
        into[2] = permission.phase as i32;
        into[3] = permission.why_not.bits().cast_signed();
        into[4] = *gate as i32;
        5
    }
}
