//! What a tester may drive on the loader, in words.

use loader::control::measuring::{LeverAxis, STRAIGHT_LINE};
use loader::control::motion::{CONTROLS, FIRST_SWEEP, REVERSE_ALARM, ROUTINES};
use loader::declaration::Coil;
use trunnion_desk::bench::{GuidedMotion, MotionKind};

const BEFORE_A_SWEEP: &[&str] = &[
    "the drive wheels are off the ground, boom and bucket are free to move",
    "nobody is near the machine, and an emergency stop is in reach",
    "the operator sits, the bar is down, the levers rest, everything is permitted",
];

const fn sweep(coil: Coil, name: &'static str) -> GuidedMotion {
    let motion = &ROUTINES[coil as usize];
    GuidedMotion {
        id: FIRST_SWEEP + coil as u16,
        name,
        kind: MotionKind::Routine,
        level: motion.level,
        needs: motion.needs,
        does: "current of this coil up to the cap and down again in 4 s; tells asked and measured milliamps",
        before: BEFORE_A_SWEEP,
    }
}

const BEFORE_A_CALIBRATION: &[&str] = &[
    "the machine stands, the lock is on or the bar is up: nothing is permitted, and nothing will follow the lever",
    "the lever can be moved from end to end, and nobody leans on it",
];

const BEFORE_A_DRIVE: &[&str] = &[
    "there are 30 m of level, free ground ahead, and nobody is near",
    "the operator sits and drives; somebody else holds the space bar",
    "the machine is warm, the tyres are alike and have their pressure, everything is permitted",
];

const fn calibration(axis: LeverAxis, name: &'static str) -> GuidedMotion {
    let motion = &ROUTINES[Coil::COUNT + axis as usize];
    GuidedMotion {
        id: axis.routine(),
        name,
        kind: MotionKind::Routine,
        level: motion.level,
        needs: motion.needs,
        does: "measures released lever and both ends of this axis; tells low, centre and high in thousandths",
        before: BEFORE_A_CALIBRATION,
    }
}

const fn straight_line() -> GuidedMotion {
    let motion = &ROUTINES[ROUTINES.len() - 1];
    GuidedMotion {
        id: STRAIGHT_LINE,
        name: "straight_line_learn",
        kind: MotionKind::Routine,
        level: motion.level,
        needs: motion.needs,
        does: "compares both sides in a straight drive; tells trim of left and right, and by how much the left was faster, in thousandths",
        before: BEFORE_A_DRIVE,
    }
}

const fn output(place: usize, name: &'static str, does: &'static str) -> GuidedMotion {
    let motion = &CONTROLS[place];
    let before: &[&str] =
        if motion.id == REVERSE_ALARM { &["people nearby know that the alarm is tried"] } else { &[] };
    let (level, needs) = (motion.level, motion.needs);
    GuidedMotion { id: motion.id, name, kind: MotionKind::Control, level, needs, does, before }
}

/// All of them.
pub const MOTIONS: &[GuidedMotion] = &[
    sweep(Coil::left_pump_forward, "sweep_left_pump_forward"),
    sweep(Coil::left_pump_reverse, "sweep_left_pump_reverse"),
    sweep(Coil::right_pump_forward, "sweep_right_pump_forward"),
    sweep(Coil::right_pump_reverse, "sweep_right_pump_reverse"),
    sweep(Coil::boom_raise, "sweep_boom_raise"),
    sweep(Coil::boom_lower, "sweep_boom_lower"),
    sweep(Coil::boom_float, "sweep_boom_float"),
    sweep(Coil::bucket_curl, "sweep_bucket_curl"),
    sweep(Coil::bucket_dump, "sweep_bucket_dump"),
    sweep(Coil::auxiliary_a, "sweep_auxiliary_a"),
    sweep(Coil::auxiliary_b, "sweep_auxiliary_b"),
    calibration(LeverAxis::LeftX, "calibrate_left_lever_x"),
    calibration(LeverAxis::LeftY, "calibrate_left_lever_y"),
    calibration(LeverAxis::RightX, "calibrate_right_lever_x"),
    calibration(LeverAxis::RightY, "calibrate_right_lever_y"),
    calibration(LeverAxis::RightWheel, "calibrate_right_wheel"),
    straight_line(),
    output(0, "status_lamp", "the status lamp, on or off"),
    output(1, "reverse_alarm", "the reverse alarm, on or off"),
];
