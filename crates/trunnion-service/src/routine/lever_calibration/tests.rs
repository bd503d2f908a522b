use proptest::prelude::*;
use std::vec::Vec;

use super::*;

const TICK: Period = Period::from_micros(10_000).unwrap();
const HOLD: usize = 50;

fn permille(raw: i16) -> Permille {
    Permille::new(raw).unwrap()
}

fn calibration() -> LeverCalibration {
    let config = LeverCalibrationConfig {
        shortest_travel: permille(500),
        off_centre: permille(150),
        still: permille(10),
        hold: Millis::millis(500),
        time_out: Millis::millis(20_000),
    };
    let mut calibration = LeverCalibration::new(config, TICK);
    calibration.start();
    calibration
}

fn hold(calibration: &mut LeverCalibration, place: i16, periods: usize) -> RoutineReport {
    for _ in 0..periods {
        calibration.step(Some(permille(place)), true);
    }
    calibration.report()
}

/// The four places one after the other, each held for long enough.
fn through(places: [i16; 4]) -> LeverCalibration {
    let mut calibration = calibration();
    for place in places {
        hold(&mut calibration, place, HOLD);
    }
    calibration
}

#[test]
fn the_person_is_led_from_step_to_step() {
    let mut calibration = calibration();
    let mut steps = Vec::new();
    for place in [0, -950, 960, 3] {
        let report = calibration.report();
        assert_eq!(report.progress, Progress::Running);
        steps.push(report.step);
        // On the way there nothing is taken.
        for passing in (0..HOLD as i16).map(|part| place / HOLD as i16 * part) {
            hold(&mut calibration, passing, 1);
        }
        hold(&mut calibration, place, HOLD);
    }
    use RoutineStep::*;
    assert_eq!(steps, [ReleaseLever, HoldNegativeEnd, HoldPositiveEnd, ReleaseAgain]);
    let report = calibration.report();
    assert_eq!((report.progress, report.found), (Progress::Done, [-950, 0, 960]));
}

#[test]
fn what_no_sound_lever_gives_is_refused_with_its_reason() {
    use RoutineReason::*;
    for (places, reason) in [
        ([0, -480, 960, 0], NegativeEndTooNear),
        ([0, -960, 480, 0], PositiveEndTooNear),
        ([-100, -600, 1000, -100], CentreOffMiddle),
        ([0, -960, 960, 20], CentreNotHeld),
    ] {
        let calibration = through(places);
        let report = calibration.report();
        assert_eq!((report.progress, report.reason), (Progress::Failed, reason), "{places:?}");
        assert_eq!(calibration.found(), None);
    }
}

#[test]
fn a_lost_signal_a_machine_that_does_not_rest_and_a_slow_hand_end_it() {
    let ended = |steps: &dyn Fn(&mut LeverCalibration)| {
        let mut calibration = calibration();
        hold(&mut calibration, 0, HOLD);
        steps(&mut calibration);
        hold(&mut calibration, -900, 5 * HOLD);
        let report = calibration.report();
        assert_eq!((report.progress, calibration.found()), (Progress::Failed, None));
        report.reason
    };
    assert_eq!(ended(&|calibration| calibration.step(None, true)), RoutineReason::SignalLost);
    assert_eq!(
        ended(&|calibration| calibration.step(Some(Permille::ZERO), false)),
        RoutineReason::Conditions
    );
    assert_eq!(
        ended(&|calibration| {
            hold(calibration, 0, 2_001);
        }),
        RoutineReason::TimeOut
    );
}

#[test]
fn a_stop_leaves_nothing_and_a_new_start_begins_from_nothing() {
    let mut calibration = calibration();
    hold(&mut calibration, 0, HOLD);
    hold(&mut calibration, -900, HOLD);
    calibration.stop();
    let report = calibration.report();
    assert_eq!((report.progress, report.reason), (Progress::Idle, RoutineReason::Stopped));
    hold(&mut calibration, 900, HOLD);
    assert_eq!(calibration.found(), None);
    calibration.start();
    assert_eq!(calibration.report().step, RoutineStep::ReleaseLever);
    let mut done = through([0, -900, 900, 0]);
    done.stop();
    assert_eq!(done.report().progress, Progress::Done, "there is nothing left to stop");
}

proptest! {
    /// Whatever the lever does: what is found would be taken by a lever axis, and lies where the person held it.
    #[test]
    fn what_is_found_is_a_calibration(
        stays in proptest::collection::vec((-1000_i16..=1000, 1_usize..120), 1..30)
    ) {
        let mut calibration = calibration();
        for (place, periods) in stays {
            hold(&mut calibration, place, periods);
        }
        if let Some(AxisMeasured { low, centre, high }) = calibration.found() {
            prop_assert!(low.raw() + 500 <= centre.raw() && centre.raw() + 500 <= high.raw());
            prop_assert!(centre.raw().abs() <= 250);
        }
    }

    #[test]
    fn a_sound_lever_is_found_as_it_is(low in -1000_i16..=-700, centre in -50_i16..=50, high in 700_i16..=1000) {
        let calibration = through([centre, low, high, centre]);
        let measured = AxisMeasured { low: permille(low), centre: permille(centre), high: permille(high) };
        let off = (i32::from(high) + i32::from(low) - 2 * i32::from(centre)).abs() * 1000;
        let found = (off <= (i32::from(high) - i32::from(low)) * 150).then_some(measured);
        prop_assert_eq!(calibration.found(), found);
    }
}
