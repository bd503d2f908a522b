use proptest::prelude::*;

use super::*;

const TICK: Period = Period::from_micros(10_000).unwrap();

fn permille(raw: i16) -> Permille {
    Permille::new(raw).unwrap()
}

fn learn(in_use: TrimInUse) -> StraightLineLearn {
    let config = StraightLineConfig {
        settle: Millis::millis(500),
        measure: Millis::millis(2_000),
        time_out: Millis::millis(30_000),
        slowest: Rpm::from_whole(100),
        steady: permille(100),
        most: permille(200),
    };
    let mut learn = StraightLineLearn::new(config, TICK);
    learn.start(in_use);
    learn
}

fn seen(left: i32, right: i32) -> DriveSeen {
    let speed = |rpm| Some(Rpm::from_whole(rpm));
    DriveSeen { permitted: true, forward: true, steered: false, left: speed(left), right: speed(right) }
}

fn drive(learn: &mut StraightLineLearn, seen: DriveSeen, periods: u32) -> RoutineReport {
    for _ in 0..periods {
        learn.step(&seen);
    }
    learn.report()
}

#[test]
fn it_waits_for_a_steady_drive_and_then_measures_it() {
    let mut learn = learn(TrimInUse::default());
    let standing = DriveSeen { forward: false, ..seen(0, 0) };
    let report = drive(&mut learn, standing, 300);
    assert_eq!((report.progress, report.step), (Progress::Running, RoutineStep::DriveStraight));
    for part in 20..120 {
        drive(&mut learn, seen(5 * part, 5 * part), 1);
    }
    let report = drive(&mut learn, seen(600, 630), 90);
    assert_eq!(report.step, RoutineStep::KeepStraight);
    let report = drive(&mut learn, seen(600, 630), 220);
    assert_eq!((report.progress, report.found), (Progress::Done, [0, 48, -48]));
}

#[test]
fn what_cannot_be_learnt_is_refused_with_its_reason() {
    use RoutineReason::*;
    let steady = seen(600, 630);
    for (after, reason) in [
        (DriveSeen { steered: true, ..steady }, SteeringTouched),
        (DriveSeen { forward: false, ..steady }, TooShort),
        (seen(90, 600), TooShort),
        (seen(-600, -630), TooShort),
        (seen(700, 730), Unsteady),
        (DriveSeen { left: None, ..steady }, SignalLost),
        (DriveSeen { permitted: false, ..steady }, Conditions),
    ] {
        let mut learn = learn(TrimInUse::default());
        drive(&mut learn, steady, 150);
        let report = drive(&mut learn, after, 1);
        assert_eq!((report.progress, report.reason), (Progress::Failed, reason), "{after:?}");
        drive(&mut learn, steady, 400);
        assert_eq!(learn.found(), None);
    }
    let mut apart = learn(TrimInUse::default());
    let report = drive(&mut apart, seen(600, 470), 400);
    assert_eq!((report.progress, report.reason, report.found[2]), (Progress::Failed, BeyondTrim, 217));
}

#[test]
fn who_never_drives_straight_is_told_what_kept_it() {
    use RoutineReason::*;
    let steered = DriveSeen { steered: true, ..seen(600, 600) };
    for (never, reason) in [(steered, SteeringTouched), (seen(0, 0), TimeOut)] {
        let mut learn = learn(TrimInUse::default());
        drive(&mut learn, never, 2_999);
        assert_eq!(learn.report().progress, Progress::Running);
        let report = drive(&mut learn, never, 2);
        assert_eq!((report.progress, report.reason), (Progress::Failed, reason));
    }
    let mut learn = learn(TrimInUse::default());
    for period in 0..3_010 {
        let speed = if period / 20 % 2 == 0 { 500 } else { 700 };
        drive(&mut learn, seen(speed, speed), 1);
    }
    assert_eq!(learn.report().reason, Unsteady);
}

#[test]
fn a_stop_leaves_nothing() {
    let mut learn = learn(TrimInUse::default());
    drive(&mut learn, seen(600, 630), 150);
    learn.stop();
    let report = drive(&mut learn, seen(600, 630), 400);
    assert_eq!(
        (report.progress, report.reason, learn.found()),
        (Progress::Idle, RoutineReason::Stopped, None)
    );
}

proptest! {
    /// Learnt once, driven with what was learnt, learnt again: nothing is left to change but the rounding, and the
    /// faster side is never the one that gets all of it.
    #[test]
    fn the_learnt_trim_makes_both_sides_equal(
        left in 500_i32..1500, right in 500_i32..1500, in_use in 0_i16..=200, on_left: bool
    ) {
        let trim = |left, right| TrimInUse { left: permille(left), right: permille(right) };
        let in_use = if on_left { trim(in_use, 0) } else { trim(0, in_use) };
        // What both sides do without a trim, and with one.
        let with = |trim: TrimInUse| {
            let side = |speed: i32, trim: Permille| speed * 8 * (1000 - i32::from(trim.raw())) / 1000;
            let rpm = |eighths| Some(Rpm::saturating(i64::from(eighths)));
            DriveSeen { left: rpm(side(left, trim.left)), right: rpm(side(right, trim.right)), ..seen(0, 0) }
        };
        let mut first = learn(in_use);
        drive(&mut first, with(in_use), 300);
        let apart = 1000 * (left - right).abs() / left.max(right);
        match first.found() {
            None => prop_assert!(apart >= 199, "{} to {}", left, right),
            Some(found) => {
                prop_assert!(apart <= 201);
                prop_assert!(found.left == Permille::ZERO || found.right == Permille::ZERO);
                let mut again = learn(found);
                let report = drive(&mut again, with(found), 300);
                prop_assert!(report.found[2].abs() <= 2, "left with {:?}", report);
                let apart = |one: Permille, other: Permille| (one.raw() - other.raw()).abs();
                let second = again.found().unwrap_or(found);
                prop_assert!(apart(second.left, found.left) <= 2 && apart(second.right, found.right) <= 2);
            }
        }
    }
}
