//! The internal points of a period, put where an engineer can look at them.

use trunnion::guard::Reasons;
use trunnion::quantity::{Kilopascals, Ratio, Rpm};

use super::reasons::Reason;
use super::stations::Station;
use super::{Control, Shown};
use crate::declaration::{Diagnostics, Fault};

impl Control {
    pub(super) fn show(&mut self, shown: &Shown) {
        let mut d = Diagnostics::default();
        senses_and_levers(&mut d, shown);
        permissions(&mut d, shown);
        commands(&mut d, shown);
        d.self_test = self.self_test.state();
        d.standstill = self.at_rest;
        d.active_faults = self.faults.count_active();
        d.blink_code = self.panel.code();
        const { assert!(Fault::COUNT <= 64, "one word shows all faults") };
        d.active_fault_bits =
            self.faults.active_places().fold(0, |bits, place| bits | 1_u64.wrapping_shl(place.into()));
        d.periods = self.periods;
        self.diagnostics = d;
    }
}

fn senses_and_levers(d: &mut Diagnostics, shown: &Shown) {
    let (sensed, wanted) = (&shown.sensed, &shown.wanted);
    d.engine_speed = sensed.engine.or(Rpm::ZERO);
    d.engine_speed_bus = sensed.engine_bus.or(Rpm::ZERO);
    d.travel_motor_speed = sensed.travel.or(Rpm::ZERO);
    d.eccentric_speed = sensed.eccentric.or(Rpm::ZERO);
    d.charge_pressure = sensed.charge_pressure.or(Kilopascals::ZERO);
    let [left, right] = &wanted.levers;
    d.left_drive_lever = left.drive.position.or(Ratio::ZERO);
    d.left_drive_health = left.drive.position.health();
    d.left_steer_lever = left.steer.position.or(Ratio::ZERO);
    d.left_steer_health = left.steer.position.health();
    d.right_drive_lever = right.drive.position.or(Ratio::ZERO);
    d.right_drive_health = right.drive.position.health();
    d.right_steer_lever = right.steer.position.or(Ratio::ZERO);
    d.right_steer_health = right.steer.position.health();
    d.station = Station::of(wanted.station.in_command);
    d.station_waiting = Station::of(wanted.station.waiting);
    d.all_neutral = wanted.all_neutral;
    d.may_hand_over = wanted.may_hand_over;
    d.drive_intent = wanted.drive;
    d.steer_intent = wanted.steer;
    d.drive_neutral = wanted.drive_neutral;
    d.steer_neutral = wanted.steer_neutral;
}

fn permissions(d: &mut Diagnostics, shown: &Shown) {
    let (drive, steer) = (&shown.permissions.drive, &shown.permissions.steer);
    let vibration = shown.vibration.why_not;
    d.permission_drive = drive.permitted;
    d.permission_steer = steer.permitted;
    d.permission_vibration = vibration.is_empty();
    d.start_phase_drive = drive.phase;
    d.start_phase_steer = steer.phase;
    d.why_not_drive = Reason::first(drive.why_not);
    d.why_not_steer = Reason::first(steer.why_not);
    d.why_not_vibration = Reason::first(vibration);
    [d.why_not_drive_all, d.why_not_steer_all, d.why_not_vibration_all] =
        [drive.why_not, steer.why_not, vibration].map(Reasons::bits);
    d.stop_drive = drive.stop;
    d.stop_steer = steer.stop;
    [d.gate_drive, d.gate_steer, d.gate_vibration] = shown.gates;
    [d.drive_current, d.steer_current, d.vibration_current] = shown.measured;
}

fn commands(d: &mut Diagnostics, shown: &Shown) {
    let (travel, vibration) = (&shown.travel, &shown.vibration);
    d.drive_sequence = travel.sequence;
    d.drive_asked = travel.asked;
    d.drive_command = travel.drive;
    d.motion_state = travel.state;
    d.motion_phase = travel.phase;
    d.steer_asked = travel.steer_asked;
    d.steer_command = travel.steer;
    d.amplitude = vibration.amplitude.active.unwrap_or_default();
    d.amplitude_mismatch = vibration.amplitude.mismatch;
    d.vibration_on = vibration.switched_on;
    d.vibration_command = vibration.command;
}
