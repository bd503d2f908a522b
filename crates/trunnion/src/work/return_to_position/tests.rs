use super::*;
use crate::sense::Flaw;
use proptest::prelude::*;
use std::vec::Vec;

const TICK: Period = Period::from_micros(10_000).unwrap();

fn permille(raw: i16) -> Permille {
    Permille::new(raw).unwrap()
}

fn ratio(raw: i32) -> Ratio {
    Ratio::from_permille(raw).unwrap()
}

fn config() -> ReturnToPositionConfig {
    ReturnToPositionConfig {
        position: permille(600),
        window: permille(10),
        approach: permille(200),
        speed: permille(800),
        end_speed: permille(100),
        neutral: permille(50),
        time_out: Millis::millis(10_000),
    }
}

fn kick_out(config: ReturnToPositionConfig) -> ReturnToPosition {
    ReturnToPosition::new(config, TICK).unwrap()
}

fn at(position: i32) -> ReturnInputs {
    ReturnInputs {
        permitted: true,
        request: false,
        lever: Ratio::ZERO,
        position: Reading::Valid(ratio(position)),
    }
}

fn asked(position: i32) -> ReturnInputs {
    ReturnInputs { request: true, ..at(position) }
}

fn inputs() -> impl Strategy<Value = ReturnInputs> {
    let lever = prop_oneof![3 => Just(0), 1 => -1000..=1000];
    let position = prop_oneof![9 => (0..=1000).prop_map(|raw| Reading::Valid(ratio(raw))), 1 => Just(Reading::Faulted(Flaw::WireBreak))];
    (prop::bool::weighted(0.95), prop::bool::weighted(0.2), lever, position).prop_map(
        |(permitted, request, lever, position)| ReturnInputs {
            permitted,
            request,
            lever: ratio(lever),
            position,
        },
    )
}

fn stream() -> impl Strategy<Value = Vec<ReturnInputs>> {
    proptest::collection::vec(inputs(), 0..60)
}

proptest! {
    #[test]
    fn without_permission_nothing_moves_and_without_a_position_nothing_moves_by_itself(stream in stream()) {
        let mut kick_out = kick_out(config());
        for inputs in stream {
            let command = kick_out.step(inputs);
            prop_assert!(inputs.permitted || command.is_zero());
            prop_assert!(inputs.position.is_valid() || !kick_out.is_returning());
            prop_assert!(kick_out.is_returning() || command.is_zero() || command == inputs.lever);
        }
    }

    #[test]
    fn what_moves_by_itself_moves_towards_its_position_and_within_its_speeds(stream in stream()) {
        let mut kick_out = kick_out(config());
        for inputs in stream {
            let command = kick_out.step(inputs);
            if kick_out.is_returning() {
                let position = inputs.position.valid().unwrap();
                prop_assert!(command.same_direction(ratio(600).minus(position)));
                prop_assert!(command.magnitude() >= ratio(100) && command.magnitude() <= ratio(800));
                prop_assert!(ratio(600).minus(position).magnitude() > ratio(10));
            }
        }
    }

    #[test]
    fn nothing_starts_by_itself(stream in stream()) {
        let mut kick_out = kick_out(config());
        for inputs in stream {
            let before = kick_out.is_returning();
            kick_out.step(inputs);
            prop_assert!(before || !kick_out.is_returning() || (inputs.request && inputs.permitted));
        }
    }

    /// Full stroke in 3 s at full command; the valve lags by 50 ms.
    #[test]
    fn a_cylinder_from_anywhere_comes_to_rest_in_the_window(start in 0..=1000, position in 100_i16..=900) {
        let config = ReturnToPositionConfig { position: permille(position), ..config() };
        let mut kick_out = kick_out(config);
        let (mut place, mut flow) = (f64::from(start) / 1000.0, 0.0_f64);
        let goal = f64::from(position) / 1000.0;
        for step in 0..1_000 {
            let bits = (place.max(0.0).min(1.0) * f64::from(Ratio::ONE_BITS)) as i32;
            let reading = Reading::Valid(Ratio::from_bits(bits).unwrap());
            let command = kick_out.step(ReturnInputs { request: step == 0, position: reading, ..at(0) });
            flow += (f64::from(command.to_bits()) / f64::from(Ratio::ONE_BITS) - flow) * (1.0 - (-0.2_f64).exp());
            place += flow / 300.0;
            let side = (f64::from(start) / 1000.0 - goal).signum();
            prop_assert!((place - goal) * side >= -0.01, "passed it: {place}");
        }
        prop_assert!(!kick_out.is_returning());
        prop_assert!((place - goal).abs() <= 0.0101, "at rest at {place}, not {goal}");
    }

    #[test]
    fn nearer_is_never_faster(one in 0..=589_i32, other in 0..=589_i32) {
        let from = |position| kick_out(config()).step(asked(position));
        prop_assert!(from(one.max(other)) <= from(one.min(other)));
    }
}

#[test]
fn the_lever_at_its_detent_does_not_cancel_until_it_was_let_go_of() {
    let mut kick_out = kick_out(config());
    let detent = ReturnInputs { lever: Ratio::ONE, ..at(300) };
    kick_out.step(ReturnInputs { request: true, ..detent });
    for _ in 0..3 {
        kick_out.step(detent);
        assert!(kick_out.is_returning());
    }
    kick_out.step(at(310));
    assert!(kick_out.is_returning());
    let taken_over = ReturnInputs { lever: ratio(-60), ..at(320) };
    assert_eq!(kick_out.step(taken_over), ratio(-60));
    assert!(!kick_out.is_returning());
}

#[test]
fn a_lever_still_at_its_detent_at_the_end_does_not_drive_on() {
    let mut kick_out = kick_out(config());
    let detent = |position| ReturnInputs { lever: Ratio::ONE, ..at(position) };
    kick_out.step(ReturnInputs { request: true, ..detent(300) });
    for position in [595, 600, 600] {
        assert_eq!(kick_out.step(detent(position)), Ratio::ZERO);
    }
    assert_eq!(kick_out.step(at(600)), Ratio::ZERO);
    assert_eq!(kick_out.step(detent(600)), Ratio::ONE);
}

#[test]
fn it_ends_at_its_time_out_at_a_second_request_and_when_it_has_passed() {
    let mut kick_out = kick_out(config());
    kick_out.step(asked(300));
    let steps = (1..2_000).find(|_| kick_out.step(at(300)).is_zero());
    assert_eq!(steps, Some(1_000));
    kick_out.step(asked(300));
    assert!(kick_out.is_returning());
    assert_eq!(kick_out.step(asked(300)), Ratio::ZERO);
    kick_out.step(asked(300));
    assert_eq!(kick_out.step(at(700)), Ratio::ZERO);
    kick_out.step(asked(300));
    kick_out.reset();
    assert_eq!(kick_out.step(ReturnInputs { lever: Ratio::ONE, ..at(300) }), Ratio::ZERO);
}

#[test]
fn values_outside_their_range_are_refused_with_the_range_and_change_nothing() {
    let mut kick_out = kick_out(config());
    for (bad, message) in [
        (
            ReturnToPositionConfig { position: permille(-1), ..config() },
            "position of -1 ‰: set 0 ‰ to 1000 ‰",
        ),
        (ReturnToPositionConfig { window: permille(1), ..config() }, "window of 1 ‰: set 2 ‰ to 100 ‰"),
        (
            ReturnToPositionConfig { approach: permille(10), ..config() },
            "approach of 10 ‰: set 11 ‰ to 500 ‰",
        ),
        (ReturnToPositionConfig { speed: permille(49), ..config() }, "speed of 49 ‰: set 50 ‰ to 1000 ‰"),
        (
            ReturnToPositionConfig { end_speed: permille(801), ..config() },
            "end speed of 801 ‰: set 10 ‰ to 800 ‰",
        ),
        (
            ReturnToPositionConfig { neutral: permille(301), ..config() },
            "neutral band of 301 ‰: set 10 ‰ to 300 ‰",
        ),
        (
            ReturnToPositionConfig { time_out: Millis::millis(60_001), ..config() },
            "time-out of 60001 ms: set 100 ms to 60000 ms",
        ),
    ] {
        assert_eq!(std::format!("{}", kick_out.reconfigure(bad).unwrap_err()), message);
        assert_eq!(kick_out.rules.position, ratio(600));
    }
    assert!(kick_out.reconfigure(ReturnToPositionConfig { position: permille(0), ..config() }).is_ok());
}

four_verbs! {
    new: |config| ReturnToPosition::new(config, TICK),
    configs: (config(), ReturnToPositionConfig { position: permille(300), window: permille(20), approach: permille(100), speed: permille(600), end_speed: permille(200), neutral: permille(80), time_out: Millis::millis(300) }),
    accepted: [
        ReturnToPositionConfig { time_out: Millis::millis(100), ..config() },
        ReturnToPositionConfig { time_out: Millis::millis(60000), ..config() },
        ReturnToPositionConfig { position: permille(0), window: permille(2), approach: permille(3), speed: permille(50), end_speed: permille(10), neutral: permille(10), ..config() },
        ReturnToPositionConfig { position: permille(1000), window: permille(100), approach: permille(500), speed: permille(1000), end_speed: permille(1000), neutral: permille(300), ..config() },
    ],
    refused: [
        ReturnToPositionConfig { time_out: Millis::millis(99), ..config() } => "time-out of 99 ms: set 100 ms to 60000 ms",
        ReturnToPositionConfig { time_out: Millis::millis(60001), ..config() } => "time-out of 60001 ms: set 100 ms to 60000 ms",
    ],
    inputs: inputs(),
    step: |block, inputs| (block.step(inputs), block.is_returning()),
    // The lever works again once it was let go of.
    reset: |block| {
        block.reset();
        block.step(at(0));
    },
}
