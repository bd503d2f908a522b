use super::*;
use proptest::prelude::*;
use std::vec::Vec;

const TICK: Period = Period::from_micros(10_000).unwrap();
const OPENING: usize = 3;
const REST: usize = 5;
const STOP: usize = 10;
const AHEAD: SinglePathInputs =
    SinglePathInputs { permitted: true, charge_pressure_good: true, drive: Ratio::ONE, standstill: false };

fn config() -> SinglePathConfig {
    SinglePathConfig {
        brake_opens_in: Millis::millis(30),
        apply_after: Millis::millis(50),
        stop_time_out: Millis::millis(100),
    }
}

fn path() -> SinglePath {
    SinglePath::new(config(), TICK).unwrap()
}

fn stream() -> impl Strategy<Value = Vec<SinglePathInputs>> {
    let mostly = || prop::bool::weighted(0.9);
    let drive = proptest::sample::select(&[Ratio::ZERO, Ratio::ONE, Ratio::MINUS_ONE]);
    let inputs = (mostly(), mostly(), drive, any::<bool>()).prop_map(
        |(permitted, charge_pressure_good, drive, standstill)| SinglePathInputs {
            permitted,
            charge_pressure_good,
            drive,
            standstill,
        },
    );
    proptest::collection::vec((inputs, prop_oneof![Just(1_usize), 1_usize..15]), 1..30).prop_map(|segments| {
        segments.into_iter().flat_map(|(inputs, steps)| std::iter::repeat_n(inputs, steps)).collect()
    })
}

proptest! {
    #[test]
    fn nothing_drives_before_the_brake_valve_was_on_for_its_time(stream in stream()) {
        let mut path = path();
        let mut open_for = 0;
        for inputs in stream {
            let command = path.step(inputs);
            prop_assert!(command.is_zero() || open_for >= OPENING, "{} steps", open_for);
            open_for = if path.brake_open() { open_for + 1 } else { 0 };
        }
    }

    #[test]
    fn nothing_drives_without_permission_and_pressure_and_what_drives_is_the_lever(stream in stream()) {
        let mut path = path();
        for inputs in stream {
            let command = path.step(inputs);
            prop_assert!(command.is_zero() || (inputs.permitted && inputs.charge_pressure_good));
            prop_assert!(command.is_zero() || command == inputs.drive);
            prop_assert!(inputs.charge_pressure_good || !path.brake_open());
        }
    }

    #[test]
    fn the_brake_comes_on_only_at_standstill_after_the_time_out_before_it_was_open_or_without_pressure(stream in stream()) {
        let mut path = path();
        let (mut before, mut stopping_for) = (SinglePathState::Braked, 0);
        for inputs in stream {
            path.step(inputs);
            if !path.brake_open() && before != SinglePathState::Braked {
                let why = before == SinglePathState::Opening || inputs.standstill || stopping_for >= STOP;
                prop_assert!(why || !inputs.charge_pressure_good);
            }
            stopping_for = if path.state() == SinglePathState::Stopping { stopping_for + 1 } else { 0 };
            prop_assert!(stopping_for <= STOP);
            before = path.state();
        }
    }

    #[test]
    fn from_every_state_no_permission_ends_braked_and_then_the_lever_drives_again(stream in stream()) {
        let mut path = path();
        for inputs in stream {
            path.step(inputs);
        }
        for _ in 0..=STOP {
            path.step(SinglePathInputs { permitted: false, ..AHEAD });
        }
        prop_assert_eq!(path.state(), SinglePathState::Braked);
        let commands: Vec<_> = (0..=OPENING).map(|_| path.step(AHEAD)).collect();
        prop_assert_eq!(commands, [Ratio::ZERO, Ratio::ZERO, Ratio::ZERO, Ratio::ONE]);
    }
}

#[test]
fn the_brake_holds_the_slope_once_the_machine_stood_for_its_time() {
    let mut path = path();
    for _ in 0..=OPENING {
        path.step(AHEAD);
    }
    let standing = SinglePathInputs { drive: Ratio::ZERO, standstill: true, ..AHEAD };
    path.step(AHEAD);
    for _ in 0..REST {
        path.step(standing);
        assert!(path.brake_open());
    }
    path.step(standing);
    assert!(!path.brake_open());
}

#[test]
fn a_reversal_keeps_the_brake_open_and_a_stop_is_not_driven_out_of() {
    let mut path = path();
    for _ in 0..=OPENING {
        path.step(AHEAD);
    }
    assert_eq!(path.step(SinglePathInputs { drive: Ratio::MINUS_ONE, ..AHEAD }), Ratio::MINUS_ONE);
    path.step(SinglePathInputs { permitted: false, ..AHEAD });
    assert_eq!(path.step(AHEAD), Ratio::ZERO);
    assert_eq!(path.state(), SinglePathState::Stopping);
    path.reset();
    assert!(!path.brake_open());
}

#[test]
fn a_brake_that_opens_at_once_needs_no_waiting() {
    let config = SinglePathConfig { brake_opens_in: Millis::millis(0), ..config() };
    assert_eq!(SinglePath::new(config, TICK).unwrap().step(AHEAD), Ratio::ONE);
}

#[test]
fn times_outside_their_range_are_refused_with_the_range() {
    let mut path = path();
    for (bad, message) in [
        (
            SinglePathConfig { brake_opens_in: Millis::millis(5_001), ..config() },
            "brake opens in 5001 ms: set 0 ms to 5000 ms",
        ),
        (
            SinglePathConfig { apply_after: Millis::millis(60_001), ..config() },
            "brake after 60001 ms at standstill: set 0 ms to 60000 ms",
        ),
        (
            SinglePathConfig { stop_time_out: Millis::millis(99), ..config() },
            "time-out of the stop of 99 ms: set 100 ms to 30000 ms, longer than the ramp",
        ),
    ] {
        assert_eq!(std::format!("{}", path.reconfigure(bad).unwrap_err()), message);
        assert_eq!((path.steps.opening, path.steps.rest, path.steps.stop), (3, 5, 10));
    }
}

four_verbs! {
    new: |config| SinglePath::new(config, TICK),
    configs: (config(), SinglePathConfig { brake_opens_in: Millis::millis(60), apply_after: Millis::millis(110), stop_time_out: Millis::millis(170) }),
    accepted: [
        SinglePathConfig { brake_opens_in: Millis::millis(0), apply_after: Millis::millis(0), stop_time_out: Millis::millis(100) },
        SinglePathConfig { brake_opens_in: Millis::millis(5000), apply_after: Millis::millis(60000), stop_time_out: Millis::millis(30000) },
    ],
    refused: [
        SinglePathConfig { brake_opens_in: Millis::millis(5001), apply_after: Millis::millis(0), stop_time_out: Millis::millis(100) } => "brake opens in 5001 ms: set 0 ms to 5000 ms",
        SinglePathConfig { brake_opens_in: Millis::millis(0), apply_after: Millis::millis(60001), stop_time_out: Millis::millis(100) } => "brake after 60001 ms at standstill: set 0 ms to 60000 ms",
        SinglePathConfig { brake_opens_in: Millis::millis(0), apply_after: Millis::millis(0), stop_time_out: Millis::millis(99) } => "time-out of the stop of 99 ms: set 100 ms to 30000 ms, longer than the ramp",
        SinglePathConfig { brake_opens_in: Millis::millis(0), apply_after: Millis::millis(0), stop_time_out: Millis::millis(30001) } => "time-out of the stop of 30001 ms: set 100 ms to 30000 ms, longer than the ramp",
    ],
    inputs: (prop::bool::weighted(0.9), prop::bool::weighted(0.9), proptest::sample::select(&[Ratio::ZERO, Ratio::ONE, Ratio::MINUS_ONE]), any::<bool>()).prop_map(
        |(permitted, charge_pressure_good, drive, standstill)| SinglePathInputs { permitted, charge_pressure_good, drive, standstill }
    ),
    step: |block, inputs| (block.step(inputs), block.state(), block.brake_open()),
    reset: |block| block.reset(),
}
