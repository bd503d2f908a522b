use std::vec::Vec;

use proptest::prelude::*;

use super::*;
use crate::quantity::Millis;

const TICK: Period = Period::from_micros(10_000).unwrap();
const CONFIG: PermissionGroupConfig = PermissionGroupConfig {
    start: NeutralStartConfig { hold: Millis::millis(100), frames: 3 },
    gate: LastGateConfig { decay: Millis::millis(50), stray: Milliamps::new(150).unwrap() },
    reasons: StartReasons { stopping: 10, not_neutral: 11, not_asked: 12 },
};
const SEAT: u8 = 0;
const STOP: u8 = 1;
const GOOD: PermissionGroupInputs = PermissionGroupInputs {
    reasons: Reasons::none(),
    immediate: Reasons::none().with(STOP),
    neutral: true,
    new_frame: true,
    ask: false,
    ask_required: false,
};

fn group() -> PermissionGroup {
    PermissionGroup::new(CONFIG, TICK).unwrap()
}

fn permitted() -> PermissionGroup {
    let mut group = group();
    for _ in 0..=10 {
        group.step(GOOD);
    }
    assert!(group.step(PermissionGroupInputs { ask: true, ..GOOD }).permitted);
    group
}

/// A step with whether the ramps behind it are at zero.
fn steps() -> impl Strategy<Value = Vec<(PermissionGroupInputs, bool)>> {
    let rare = || prop::bool::weighted(0.1);
    let inputs =
        (rare(), rare(), prop::bool::weighted(0.8), any::<bool>(), rare(), prop::bool::weighted(0.3));
    let step = inputs.prop_map(|(seat, stop, neutral, ask, ask_required, at_zero)| {
        let reasons = Reasons::none().with_if(SEAT, seat).with_if(STOP, stop);
        (PermissionGroupInputs { reasons, neutral, ask, ask_required, ..GOOD }, at_zero)
    });
    proptest::collection::vec((step, prop_oneof![Just(1_usize), 1_usize..20]), 1..40).prop_map(|segments| {
        segments.into_iter().flat_map(|(step, count)| std::iter::repeat_n(step, count)).collect()
    })
}

proptest! {
    #[test]
    fn it_is_permitted_exactly_when_nothing_is_left_to_say_why_not(steps in steps()) {
        let mut group = group();
        for (inputs, at_zero) in steps {
            let permission = group.step(inputs);
            prop_assert_eq!(permission.permitted, permission.why_not.is_empty());
            prop_assert!(!permission.permitted || inputs.reasons.is_empty());
            group.gate(&permission, at_zero, Milliamps::ZERO);
        }
    }

    #[test]
    fn the_gate_is_open_exactly_with_permission_or_until_a_controlled_stop_has_come_to_zero(steps in steps()) {
        let mut group = group();
        let (mut was_permitted, mut stopping) = (false, false);
        for (inputs, at_zero) in steps {
            let permission = group.step(inputs);
            let immediate = !inputs.reasons.intersection(inputs.immediate).is_empty();
            stopping = !permission.permitted && !immediate && (was_permitted || stopping);
            prop_assert_eq!(permission.stop == StopKind::Controlled, stopping);
            prop_assert_eq!(permission.stop == StopKind::Immediate && immediate, immediate);
            stopping &= !at_zero;
            let gate = group.gate(&permission, at_zero, Milliamps::ZERO);
            prop_assert_eq!(gate == GateState::Open, permission.permitted || stopping);
            was_permitted = permission.permitted;
        }
    }

    #[test]
    fn a_controlled_stop_ends_before_the_permission_returns(steps in steps()) {
        let mut group = group();
        let mut stopping = false;
        for (inputs, at_zero) in steps {
            let permission = group.step(PermissionGroupInputs { ask: true, ..inputs });
            prop_assert!(!(stopping && permission.permitted));
            prop_assert_eq!(permission.why_not.has(CONFIG.reasons.stopping), stopping);
            group.gate(&permission, at_zero, Milliamps::ZERO);
            stopping = permission.stop == StopKind::Controlled && !at_zero;
        }
    }
}

#[test]
fn what_is_missing_is_told_by_the_names_that_the_machine_gave() {
    let mut group = group();
    let held = group.step(PermissionGroupInputs { neutral: false, ..GOOD });
    assert_eq!(held.why_not, Reasons::none().with(11).with(12));
    for _ in 0..=10 {
        group.step(GOOD);
    }
    assert_eq!(group.step(GOOD).why_not, Reasons::none().with(12));
}

#[test]
fn a_reset_closes_the_gate_and_forgets_the_stop() {
    let mut group = permitted();
    let lost = group.step(PermissionGroupInputs { reasons: Reasons::none().with(SEAT), ..GOOD });
    assert_eq!(group.gate(&lost, false, Milliamps::ZERO), GateState::Open);
    group.reset();
    let after = group.step(GOOD);
    assert_eq!((after.stop, after.permitted), (StopKind::None, false));
    assert_eq!(group.gate(&after, false, Milliamps::ZERO), GateState::Closed);
}

#[test]
fn other_rules_keep_the_permission_or_change_nothing() {
    let mut group = permitted();
    let wrong = LastGateConfig { decay: Millis::millis(1), ..CONFIG.gate };
    let start = NeutralStartConfig { hold: Millis::millis(500), ..CONFIG.start };
    let refused = group.reconfigure(PermissionGroupConfig { start, gate: wrong, ..CONFIG });
    assert!(matches!(refused, Err(PermissionGroupConfigError::Gate(_))));
    group.reconfigure(CONFIG).unwrap();
    assert!(group.step(GOOD).permitted);
}

#[test]
fn reasons_that_cannot_be_told_apart_are_refused() {
    for reasons in [
        StartReasons { stopping: 11, ..CONFIG.reasons },
        StartReasons { not_asked: 11, ..CONFIG.reasons },
        StartReasons { not_asked: 10, ..CONFIG.reasons },
        StartReasons { stopping: 32, ..CONFIG.reasons },
    ] {
        let refused = PermissionGroup::new(PermissionGroupConfig { reasons, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(refused, PermissionGroupConfigError::Reasons(reasons));
        assert!(std::format!("{refused}").ends_with("give each a bit of its own, 0 to 31"));
    }
}

four_verbs! {
    new: |config| PermissionGroup::new(config, TICK),
    configs: (
        CONFIG,
        PermissionGroupConfig {
            start: NeutralStartConfig { hold: Millis::millis(170), frames: 6 },
            gate: LastGateConfig { decay: Millis::millis(90), stray: Milliamps::new(300).unwrap() },
            reasons: StartReasons { stopping: 20, not_neutral: 21, not_asked: 22 },
        }
    ),
    accepted: [PermissionGroupConfig { reasons: StartReasons { stopping: 0, not_neutral: 1, not_asked: 31 }, ..CONFIG }],
    refused: [
        PermissionGroupConfig { start: NeutralStartConfig { frames: 0, ..CONFIG.start }, ..CONFIG } => "0 neutral frames: set 1 to 20",
        PermissionGroupConfig { gate: LastGateConfig { decay: Millis::millis(9), ..CONFIG.gate }, ..CONFIG } => "decay time of 9 ms: set 10 ms to 1000 ms",
        PermissionGroupConfig { reasons: StartReasons { stopping: 32, ..CONFIG.reasons }, ..CONFIG } => "reasons in bits 32, 11 and 12: give each a bit of its own, 0 to 31",
        PermissionGroupConfig { reasons: StartReasons { not_neutral: 32, ..CONFIG.reasons }, ..CONFIG } => "reasons in bits 10, 32 and 12: give each a bit of its own, 0 to 31",
        PermissionGroupConfig { reasons: StartReasons { not_asked: 32, ..CONFIG.reasons }, ..CONFIG } => "reasons in bits 10, 11 and 32: give each a bit of its own, 0 to 31",
        PermissionGroupConfig { reasons: StartReasons { not_asked: 10, ..CONFIG.reasons }, ..CONFIG } => "reasons in bits 10, 11 and 10: give each a bit of its own, 0 to 31",
        PermissionGroupConfig { reasons: StartReasons { not_asked: 11, ..CONFIG.reasons }, ..CONFIG } => "reasons in bits 10, 11 and 11: give each a bit of its own, 0 to 31",
        PermissionGroupConfig { reasons: StartReasons { stopping: 11, ..CONFIG.reasons }, ..CONFIG } => "reasons in bits 11, 11 and 12: give each a bit of its own, 0 to 31",
    ],
    inputs: (
        (prop::bool::weighted(0.1), prop::bool::weighted(0.1), prop::bool::weighted(0.8), any::<bool>()),
        (prop::bool::weighted(0.1), prop::bool::weighted(0.3), 0_u16..200),
    ),
    step: |block, ((seat, stop, neutral, ask), (ask_required, at_zero, current))| {
        let reasons = Reasons::none().with_if(SEAT, seat).with_if(STOP, stop);
        let permission = block.step(PermissionGroupInputs { reasons, neutral, ask, ask_required, ..GOOD });
        let gate = block.gate(&permission, at_zero, Milliamps::new(current).unwrap());
        (permission.permitted, permission.why_not, gate)
    },
    reset: |block| block.reset(),
}
