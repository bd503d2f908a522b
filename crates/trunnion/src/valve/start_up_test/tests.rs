use proptest::prelude::*;

use super::*;
use crate::quantity::Permille;

const TICK: Period = Period::from_micros(10_000).unwrap();
const CONFIG: StartUpTestConfig = StartUpTestConfig {
    cut_off: CutOffTestConfig {
        settle: Millis::millis(60),
        low: Millivolts::saturating(3_000),
        high: Millivolts::saturating(6_000),
    },
    pulse: TestPulseConfig {
        current: Milliamps::saturating(200),
        length: Millis::millis(80),
        pass: Permille::saturating(500),
    },
    decay: Millis::millis(50),
};
const ON: Millivolts = Millivolts::saturating(12_000);

type Test = StartUpTest<3>;

/// One step of a machine whose cut-off works and whose coils carry what they are asked for, but for those that are open.
fn step(test: &mut Test, ready: bool, open: [bool; 3]) -> StartUpState {
    let read_back = if test.supply_on() { ON } else { Millivolts::ZERO };
    let mut currents = test.set_points();
    for (current, open) in currents.iter_mut().zip(open) {
        if open {
            *current = Milliamps::ZERO;
        }
    }
    test.step(ready, read_back, &currents)
}

fn start() -> Test {
    Test::new(CONFIG, TICK).unwrap()
}

proptest! {
    #[test]
    fn it_ends_with_exactly_the_open_coils_however_often_it_is_broken_off(
        open in any::<[bool; 3]>(), breaks in proptest::collection::vec(1_usize..60, 0..4)
    ) {
        let mut test = start();
        for steps in breaks {
            for _ in 0..steps {
                step(&mut test, true, open);
            }
            if test.state() != StartUpState::Done {
                prop_assert_eq!(step(&mut test, false, open), StartUpState::CutOff);
                prop_assert!(!test.supply_on());
                prop_assert_eq!(test.set_points(), [Milliamps::ZERO; 3]);
            }
        }
        for _ in 0..60 {
            step(&mut test, true, open);
        }
        prop_assert_eq!(test.state(), StartUpState::Done);
        prop_assert_eq!(test.open_coils(), open);
        prop_assert!(test.supply_on() && test.is_supply_proven());
        prop_assert_eq!(step(&mut test, false, open), StartUpState::Done);
    }

    #[test]
    fn no_coil_is_driven_before_the_supply_was_cut_and_fed(steps in 0_usize..80) {
        let mut test = start();
        for _ in 0..steps {
            step(&mut test, true, [false; 3]);
            let driven = test.set_points().iter().any(|current| *current > Milliamps::ZERO);
            prop_assert!(!driven || test.is_supply_proven());
            prop_assert!(test.set_points().iter().filter(|current| **current > Milliamps::ZERO).count() <= 1);
        }
    }
}

#[test]
fn a_supply_that_cannot_be_cut_or_does_not_come_ends_the_test() {
    for (read_back, stuck_on) in [(ON, true), (Millivolts::ZERO, false)] {
        let mut test = start();
        for _ in 0..60 {
            test.step(true, read_back, &[Milliamps::ZERO; 3]);
        }
        assert_eq!(test.state(), StartUpState::Failed);
        assert_eq!((test.stuck_on(), test.stuck_off()), (stuck_on, !stuck_on));
        assert!(!test.supply_on() && !test.is_supply_proven());
    }
}

#[test]
fn the_last_pulse_has_its_whole_time_to_decay() {
    let mut test = start();
    while test.set_points()[2].raw() == 0 {
        step(&mut test, true, [false; 3]);
    }
    while test.set_points()[2].raw() != 0 {
        step(&mut test, true, [false; 3]);
    }
    let periods = (1..100).find(|_| step(&mut test, true, [false; 3]) == StartUpState::Done);
    assert_eq!(periods, Some(5), "50 ms");
}

#[test]
fn other_settings_heal_no_coil_and_wrong_ones_change_nothing() {
    let mut test = start();
    for _ in 0..60 {
        step(&mut test, true, [true, false, false]);
    }
    test.reconfigure(StartUpTestConfig { decay: Millis::millis(100), ..CONFIG }).unwrap();
    assert_eq!(test.open_coils(), [true, false, false]);
    let no_pulse = TestPulseConfig { current: Milliamps::ZERO, ..CONFIG.pulse };
    let refused = test.reconfigure(StartUpTestConfig { pulse: no_pulse, ..CONFIG });
    assert!(matches!(refused, Err(StartUpTestConfigError::Pulse(_))));
    let no_time = CutOffTestConfig { settle: Millis::millis(1), ..CONFIG.cut_off };
    let refused = test.reconfigure(StartUpTestConfig { cut_off: no_time, ..CONFIG });
    assert!(matches!(refused, Err(StartUpTestConfigError::CutOff(_))));
    assert_eq!(test.state(), StartUpState::Done);
}

#[test]
fn the_part_that_is_refused_speaks_for_itself() {
    let cut_off = CutOffTestConfig { settle: Millis::millis(9), ..CONFIG.cut_off };
    let pulse = TestPulseConfig { current: Milliamps::saturating(9), ..CONFIG.pulse };
    crate::four_verbs::ends_are_taken_and_what_is_beyond_refused(
        |config| Test::new(config, TICK),
        &[CONFIG],
        &[
            (StartUpTestConfig { cut_off, ..CONFIG }, "coil supply settles in 9 ms: set 10 ms to 2000 ms"),
            (StartUpTestConfig { pulse, ..CONFIG }, "test pulse 9 mA is outside 10 to 1000 mA"),
        ],
    );
}

proptest! {
    #[test]
    fn another_configuration_before_it_begins_is_as_if_built_with_it(open in any::<[bool; 3]>()) {
        let other = StartUpTestConfig {
            cut_off: CutOffTestConfig { settle: Millis::millis(90), ..CONFIG.cut_off },
            pulse: TestPulseConfig { current: Milliamps::saturating(150), length: Millis::millis(50), ..CONFIG.pulse },
            decay: Millis::millis(80),
        };
        let mut changed = start();
        changed.reconfigure(other).unwrap();
        let mut built = Test::new(other, TICK).unwrap();
        for _ in 0..100 {
            prop_assert_eq!(step(&mut changed, true, open), step(&mut built, true, open));
            prop_assert_eq!(changed.set_points(), built.set_points());
            prop_assert_eq!(changed.supply_on(), built.supply_on());
        }
        prop_assert_eq!(changed.open_coils(), built.open_coils());
    }
}
