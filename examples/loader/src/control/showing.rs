//! The internal points of a period, put where an engineer can look at them.

use trunnion::declare::Record;
use trunnion::guard::Reasons;
use trunnion::quantity::{Celsius, Kilopascals, Rpm};

use super::reasons::Reason;
use super::{Control, Shown};
use crate::declaration::Diagnostics;

impl Control {
    pub(super) fn show(&mut self, shown: &Shown<'_>) {
        // In place: every point is put anew in every period.
        let d = &mut self.diagnostics;
        senses_and_levers(d, shown);
        permissions(d, shown);
        commands(d, shown);
        d.self_test = self.self_test.state();
        d.standstill = self.at_rest;
        d.park_brake = self.park_brake.state();
        d.active_faults = self.faults.count_active();
        d.blink_code = self.panel.code();
        d.engine_requested = shown.engine_request.is_some();
        d.engine_request = shown.engine_request.unwrap_or(Rpm::ZERO);
        d.tester_drives = self.motion.is_running();
        let routine = self.motion.latest();
        d.routine_step = routine.step;
        d.routine_reason = routine.reason;
        let mut words = self.faults.active_words().iter().map(|word| u64::from(*word));
        let mut pair = || words.next().unwrap_or(0) | words.next().unwrap_or(0) << 32;
        d.faults_low = pair();
        d.faults_high = pair();
        d.periods = self.periods;
        const { assert!(Diagnostics::ENCODED_BYTES < 512) };
    }
}

fn senses_and_levers(d: &mut Diagnostics, shown: &Shown<'_>) {
    let sensed = shown.sensed;
    d.engine_speed = sensed.engine.or(Rpm::ZERO);
    d.engine_speed_bus = sensed.engine_bus.or(Rpm::ZERO);
    d.engine_speed_expected = sensed.engine_expected;
    d.left_motor_speed = sensed.left_motor.or(Rpm::ZERO);
    d.right_motor_speed = sensed.right_motor.or(Rpm::ZERO);
    d.charge_pressure = sensed.charge_pressure.or(Kilopascals::ZERO);
    d.oil_temperature = sensed.oil_temperature.or(Celsius::ZERO);
    let (left, right) = (&shown.received.left, &shown.received.right);
    d.left_lever_x = left.x;
    d.left_lever_y = left.y;
    d.left_lever_wheel = left.wheel;
    d.left_lever_state = left.flaw;
    d.right_lever_x = right.x;
    d.right_lever_y = right.y;
    d.right_lever_wheel = right.wheel;
    d.right_lever_state = right.flaw;
    let wanted = shown.wanted;
    d.lever_pattern = wanted.pattern.active.unwrap_or_default();
    d.pattern_mismatch = wanted.pattern.mismatch;
    d.drive_intent = wanted.intent.drive;
    d.steer_intent = wanted.intent.steer;
    d.left_intent = wanted.intent.left_side;
    d.right_intent = wanted.intent.right_side;
    d.boom_intent = wanted.intent.boom;
    d.bucket_intent = wanted.intent.bucket;
    d.auxiliary_intent = wanted.auxiliary;
    d.drive_neutral = wanted.drive_neutral;
    d.work_neutral = wanted.work_neutral;
    d.auxiliary_neutral = wanted.auxiliary_neutral;
}

fn permissions(d: &mut Diagnostics, shown: &Shown<'_>) {
    let (drive, work, auxiliary) =
        (&shown.permissions.drive, &shown.permissions.work, &shown.permissions.auxiliary);
    d.permission_drive = drive.permitted;
    d.permission_work = work.permitted;
    d.permission_auxiliary = auxiliary.permitted;
    d.start_phase_drive = drive.phase;
    d.start_phase_work = work.phase;
    d.start_phase_auxiliary = auxiliary.phase;
    d.why_not_drive = Reason::first(drive.why_not);
    d.why_not_work = Reason::first(work.why_not);
    d.why_not_auxiliary = Reason::first(auxiliary.why_not);
    let bits = |reasons: Reasons| reasons.bits();
    d.why_not_drive_all = bits(drive.why_not);
    d.why_not_work_all = bits(work.why_not);
    d.why_not_auxiliary_all = bits(auxiliary.why_not);
    d.stop_drive = drive.stop;
    d.stop_work = work.stop;
    d.stop_auxiliary = auxiliary.stop;
    d.gate_drive = shown.gates.drive;
    d.gate_work = shown.gates.work;
    d.gate_auxiliary = shown.gates.auxiliary;
    [d.drive_current, d.work_current, d.auxiliary_current] = shown.measured;
}

fn commands(d: &mut Diagnostics, shown: &Shown<'_>) {
    let drive = shown.drive;
    d.mix_left = drive.mix.left;
    d.mix_right = drive.mix.right;
    d.ramp_left = drive.ramp.left;
    d.ramp_right = drive.ramp.right;
    d.motion_state = drive.state;
    d.motion_phase = drive.phase;
    d.load_share = drive.load_share;
    d.temperature_share = drive.temperature_share;
    d.reach_share = drive.reach_share;
    d.two_speed_inhibit = drive.two_speed_inhibit;
    d.left_command = drive.sides.left;
    d.right_command = drive.sides.right;
    d.boom_command = shown.work.boom;
    d.bucket_command = shown.work.bucket;
    d.auxiliary_command = shown.work.auxiliary;
    d.float_active = shown.work.float;
    d.continuous_active = shown.work.continuous;
}
