//! The monitor on its own; [`Coil`](crate::valve::Coil) has it in closed loop.

use super::*;
use crate::quantity::{Millis, Permille};
use proptest::prelude::*;

const STEP: Period = Period::from_micros(1_000).unwrap();
const SUPPLY: Millivolts = Millivolts::new(12_000).unwrap();

fn config() -> CoilMonitorConfig {
    CoilMonitorConfig {
        resistance: Centiohms::new(600).unwrap(),
        blanking: Millis::from_ticks(20),
        averaging: Millis::from_ticks(10),
        tolerance: Permille::new(100).unwrap(),
        offset: Milliamps::new(40).unwrap(),
        stray: Milliamps::new(60).unwrap(),
    }
}

fn monitor() -> CoilMonitor {
    CoilMonitor::new(config(), STEP).unwrap()
}

fn ma(raw: u16) -> Milliamps {
    Milliamps::new(raw).unwrap()
}

/// What a resting monitor comes to; 6 Ω at 12 V: 1 mA for each 0.05 % of duty.
fn settled(set: u16, measured: u16, duty: u16) -> CoilConditions {
    let mut monitor = monitor();
    for _ in 0..monitor.detection_steps() {
        monitor.step(ma(set), ma(measured), Duty::new(duty).unwrap(), SUPPLY);
    }
    monitor.conditions()
}

#[test]
fn each_kind_of_fault_has_its_own_condition() {
    let none = CoilConditions::NONE;
    assert_eq!(settled(600, 600, 3_000), none);
    assert_eq!(settled(600, 0, 10_000), CoilConditions { open: true, ..none });
    assert_eq!(settled(600, 600, 1_400), CoilConditions { short: true, ..none }); // shorted turns
    assert_eq!(settled(160, 158, 240), CoilConditions { short: true, ..none }); // at the least visible
    assert_eq!(settled(600, 2_000, 0), CoilConditions { short: true, ..none }); // wire to the supply
    assert_eq!(settled(600, 450, 3_000), CoilConditions { deviation: true, ..none });
    assert_eq!(settled(600, 750, 3_000), CoilConditions { deviation: true, ..none });
    assert_eq!(settled(1_600, 1_300, 10_000), CoilConditions { unreachable: true, ..none }); // hot
    assert_eq!(settled(0, 61, 0), CoilConditions { stray: true, ..none });
    assert_eq!(settled(0, 60, 0), none);
}

#[test]
fn what_is_exactly_at_a_limit_is_still_allowed() {
    let none = CoilConditions::NONE;
    // 600 mA, give or take 10 % and 40 mA.
    assert_eq!([500, 700].map(|measured| settled(600, measured, 3_000)), [none; 2]);
    assert_eq!(
        [499, 701].map(|measured| settled(600, measured, 3_000)),
        [CoilConditions { deviation: true, ..none }; 2]
    );
    // Twice what the duty drives, which is rounded down to whole milliamperes.
    assert_eq!(settled(600, 600, 1_500), none);
    assert_eq!(settled(600, 600, 1_499), CoilConditions { short: true, ..none });
    // Two fifths of what the duty drives.
    assert_eq!(settled(600, 400, 5_000), CoilConditions { deviation: true, ..none });
    assert_eq!(settled(600, 400, 5_005), CoilConditions { open: true, ..none });
}

#[test]
fn it_has_judged_with_the_last_step_of_each_window() {
    let mut monitor = monitor();
    for step in 1..=30 {
        monitor.step(ma(600), ma(600), Duty::new(3_000).unwrap(), SUPPLY);
        assert_eq!(monitor.has_judged(), step % 10 == 0, "step {step}");
    }
}

#[test]
fn cold_and_hot_copper_is_neither_shorted_nor_open() {
    for percent in [76, 84, 100, 131, 143] {
        assert_eq!(settled(600, 600, 30 * percent), CoilConditions::NONE, "{percent} %");
    }
}

#[test]
fn a_step_blanks_whatever_lies_between_the_old_and_the_new_set_point() {
    for (from, to) in [(0, 800), (800, 100), (300, 600)] {
        for stuck_at in [from, to] {
            let mut monitor = monitor();
            for _ in 0..100 {
                monitor.step(ma(from), ma(from), Duty::saturating(i64::from(from) * 5), SUPPLY);
            }
            for _ in 0..20 {
                let duty = Duty::saturating(i64::from(stuck_at) * 5);
                let conditions = monitor.step(ma(to), ma(stuck_at), duty, SUPPLY);
                assert_eq!(conditions, CoilConditions::NONE, "{from} to {to} mA");
            }
        }
    }
}

#[test]
fn an_open_coil_is_seen_while_the_lever_keeps_moving_and_is_invisible_at_zero_duty() {
    let mut monitor = monitor();
    for step in 0..200 {
        let set = 400 + step / 10 % 20 * 20; // a saw tooth of 20 mA a tick
        monitor.step(ma(set), Milliamps::ZERO, Duty::MAX, SUPPLY);
    }
    assert!(monitor.conditions().open);
    for _ in 0..200 {
        monitor.step(Milliamps::ZERO, Milliamps::ZERO, Duty::ZERO, SUPPLY);
    }
    assert_eq!(monitor.conditions(), CoilConditions::NONE);
}

#[test]
fn nothing_is_remembered_after_reset() {
    let mut monitor = monitor();
    for _ in 0..200 {
        monitor.step(ma(600), Milliamps::ZERO, Duty::MAX, SUPPLY);
    }
    assert!(monitor.conditions().open);
    monitor.reset();
    assert_eq!(monitor.conditions(), CoilConditions::NONE);
}

proptest! {
    #[test]
    fn conditions_survive_the_way_through_bits(bits in 0u8..32) {
        prop_assert_eq!(CoilConditions::from_bits(bits).bits(), bits);
        prop_assert_eq!(CoilConditions::from_bits(bits).any(), bits != 0);
        prop_assert_eq!(CoilConditions::from_bits(bits | 0xE0).bits(), bits);
    }

    #[test]
    fn the_union_has_what_either_has(one in 0u8..32, other in 0u8..32) {
        let both = CoilConditions::from_bits(one).union(CoilConditions::from_bits(other));
        prop_assert_eq!(both.bits(), one | other);
    }

    #[test]
    fn a_current_between_the_last_set_points_at_a_fitting_duty_is_never_a_fault(
        sets in proptest::collection::vec((0u16..1_500, 1usize..60), 1..30), percent in 76u32..143
    ) {
        let mut monitor = monitor();
        let mut current = 0.0_f64;
        for (set, steps) in sets {
            for _ in 0..steps {
                current += (f64::from(set) - current) * 0.3; // a coil of 3 ms
                let duty = Duty::saturating((current * 5.0 * f64::from(percent) / 100.0) as i64);
                let conditions = monitor.step(ma(set), ma(current as u16), duty, SUPPLY);
                prop_assert_eq!(conditions, CoilConditions::NONE);
            }
        }
    }

    #[test]
    fn never_more_than_one_reason_but_for_a_short(
        steps in proptest::collection::vec((any::<u16>(), any::<u16>(), 0u16..=10_000, any::<u16>()), 1..200)
    ) {
        let mut monitor = monitor();
        for (set, measured, duty, supply) in steps {
            let duty = Duty::new(duty).unwrap();
            let seen = monitor.step(ma(set), ma(measured), duty, Millivolts::new(supply).unwrap());
            prop_assert!(seen.bits().count_ones() <= 1 || seen.short);
        }
    }
}

#[test]
fn a_config_outside_its_range_is_refused_with_the_value_and_changes_nothing() {
    let mut monitor = monitor();
    let error = monitor.reconfigure(CoilMonitorConfig { blanking: Millis::from_ticks(501), ..config() });
    assert_eq!(error, Err(CoilMonitorConfigError::Blanking(Millis::from_ticks(501))));
    let error = monitor.reconfigure(CoilMonitorConfig { averaging: Millis::from_ticks(0), ..config() });
    assert_eq!(std::format!("{}", error.unwrap_err()), "averaging time 0 ms is outside 1 to 500 ms");
    let error = monitor.reconfigure(CoilMonitorConfig { offset: Milliamps::ZERO, ..config() });
    assert_eq!(error, Err(CoilMonitorConfigError::Offset(Milliamps::ZERO)));
    let error = monitor.reconfigure(CoilMonitorConfig { stray: ma(1_001), ..config() });
    assert_eq!(error, Err(CoilMonitorConfigError::Stray(ma(1_001))));
    let tolerance = Permille::new(-1).unwrap();
    let error = monitor.reconfigure(CoilMonitorConfig { tolerance, ..config() });
    assert_eq!(error, Err(CoilMonitorConfigError::Tolerance(tolerance)));
    assert_eq!(monitor.config, config());
}
