//! Who may move, told as stories.

use loader::control::reasons::Reason;
use loader::declaration::Parameters;
use trunnion::machine::Machine;
use trunnion::quantity::Millivolts;

use crate::cab::Cab;

fn driving() -> Cab {
    let mut cab = Cab::new(Parameters::default());
    cab.permit();
    cab.hands.left[1] = 700;
    cab.run(2_500);
    assert!(cab.set_points().left_pump_forward.raw() > 600);
    cab
}

fn drive_currents(cab: &Cab) -> u16 {
    let set = cab.set_points();
    [set.left_pump_forward, set.left_pump_reverse, set.right_pump_forward, set.right_pump_reverse]
        .iter()
        .map(|current| current.raw())
        .max()
        .unwrap_or(0)
}

#[test]
fn nothing_is_permitted_before_the_operator_asks() {
    let mut cab = Cab::new(Parameters::default());
    cab.run(5_000);
    let diagnostics = cab.stepper.machine().diagnostics();
    assert!(!diagnostics.permission_drive && !diagnostics.permission_work);
    assert_eq!(diagnostics.why_not_drive, Reason::NotAskedFor);
    cab.permit();
    let diagnostics = cab.stepper.machine().diagnostics();
    assert!(diagnostics.permission_drive && diagnostics.permission_work && diagnostics.permission_auxiliary);
}

#[test]
fn an_enable_press_with_a_held_lever_is_not_kept_for_later() {
    let mut cab = Cab::new(Parameters::default());
    cab.run(2_500);
    cab.hands.left[1] = 500;
    cab.permit();
    cab.hands.left[1] = 0;
    cab.run(1_000);
    assert!(!cab.stepper.machine().diagnostics().permission_drive);
}

#[test]
fn a_silent_lever_stops_both_sides_and_is_named() {
    let mut cab = driving();
    cab.levers_send = false;
    cab.run(1_200);
    assert_eq!(drive_currents(&cab), 0);
    assert!(cab.stepper.machine().is_fault_active(loader::declaration::Fault::LeftLeverLost as u16));
}

#[test]
fn the_emergency_stop_takes_the_current_in_the_same_period() {
    let mut cab = driving();
    cab.inputs.emergency_stop_second = false;
    cab.step();
    assert_eq!(drive_currents(&cab), 0);
    assert!(!cab.outputs.coil_supply);
    cab.step();
    assert!(cab.fast_outputs.duties().iter().all(|duty| duty.raw() == 0));
}

#[test]
fn a_lock_stops_both_sides_along_the_ramp_without_a_change_of_sign() {
    let mut cab = driving();
    cab.hands.left[0] = 300;
    cab.run(1_000);
    cab.inputs.lock_released = false;
    let mut before = cab.stepper.machine().diagnostics();
    let mut steps = 0;
    while drive_currents(&cab) > 0 {
        cab.step();
        let now = cab.stepper.machine().diagnostics();
        assert!(now.left_command <= before.left_command && now.right_command <= before.right_command);
        assert!(now.left_command.to_bits() >= 0 && now.right_command.to_bits() >= 0);
        before = now;
        steps += 1;
        assert!(steps < 90, "the stop takes longer than its time");
    }
    assert!(steps > 20, "a lock is no reason to throw the operator out of the seat");
}

#[test]
fn the_rocker_alone_changes_nothing_while_driving() {
    let mut cab = driving();
    let before = cab.stepper.machine().diagnostics().lever_pattern;
    cab.inputs.pattern_iso_contact = false;
    cab.inputs.pattern_h_contact = true;
    cab.run(4_000);
    let diagnostics = cab.stepper.machine().diagnostics();
    assert_eq!(diagnostics.lever_pattern, before);
    assert!(diagnostics.pattern_mismatch);
    assert_eq!(drive_currents(&cab), 0);
}

#[test]
fn the_starter_may_turn_only_with_neutral_levers_and_a_stopped_engine() {
    let mut cab = Cab::new(Parameters::default());
    cab.run(3_000);
    assert!(!cab.outputs.start_permit, "the engine runs");
}

#[test]
fn why_not_is_frozen_by_a_stop() {
    let mut cab = driving();
    cab.inputs.restraint_bar_down = false;
    cab.run(500);
    let control = cab.stepper.machine().control().unwrap();
    assert!(control.reason_log().is_frozen());
    let bar = Reason::BarUp.bit();
    assert!(control.reason_log().entries().any(|entry| entry.why_not[0].has(bar)));
}

fn why_not(cab: &Cab) -> Vec<Reason> {
    let set = cab.stepper.machine().diagnostics().why_not_drive_all;
    Reason::ALL.iter().copied().filter(|reason| set >> reason.bit() & 1 == 1).collect()
}

#[test]
fn why_not_is_the_smallest_set_of_what_has_to_change() {
    let mut cab = driving();
    cab.inputs.restraint_bar_down = false;
    cab.inputs.park_brake_off = false;
    cab.run(2_000);
    assert_eq!(
        why_not(&cab),
        [Reason::BarUp, Reason::ParkBrakeOn, Reason::LeversNotNeutral, Reason::NotAskedFor]
    );
    cab.inputs.restraint_bar_down = true;
    cab.inputs.park_brake_off = true;
    cab.run(500);
    assert_eq!(why_not(&cab), [Reason::LeversNotNeutral, Reason::NotAskedFor]);
    cab.hands.left[1] = 0;
    cab.run(500);
    assert_eq!(why_not(&cab), [Reason::NotAskedFor]);
    cab.inputs.enable_button = true;
    cab.run(100);
    assert_eq!(why_not(&cab), []);
}

#[test]
fn a_cause_is_told_once_and_not_again_as_a_fault() {
    let mut cab = driving();
    cab.inputs.emergency_stop_first = false;
    cab.inputs.emergency_stop_second = false;
    cab.run(80);
    assert_eq!(why_not(&cab), [Reason::EmergencyStop, Reason::LeversNotNeutral, Reason::NotAskedFor]);
    let mut cab = driving();
    cab.inputs.supply_voltage = Millivolts::saturating(8_500);
    cab.run(1_500);
    assert_eq!(why_not(&cab), [Reason::SupplyLow, Reason::LeversNotNeutral]);
}

#[test]
fn every_loss_of_permission_asks_for_neutral_levers_anew() {
    let losses: [fn(&mut Cab); 7] = [
        |cab| cab.inputs.lock_released = !cab.inputs.lock_released,
        |cab| cab.inputs.seat_occupied = !cab.inputs.seat_occupied,
        |cab| cab.inputs.restraint_bar_down = !cab.inputs.restraint_bar_down,
        |cab| cab.inputs.park_brake_off = !cab.inputs.park_brake_off,
        |cab| cab.inputs.key_on = !cab.inputs.key_on,
        |cab| {
            let low = Millivolts::saturating(8_000);
            let good = Millivolts::saturating(13_800);
            cab.inputs.supply_voltage = if cab.inputs.supply_voltage == low { good } else { low };
        },
        |cab| {
            let low = Millivolts::saturating(700);
            let good = Millivolts::saturating(2_700);
            cab.inputs.charge_pressure_signal =
                if cab.inputs.charge_pressure_signal == low { good } else { low };
        },
    ];
    for (number, change) in losses.iter().enumerate() {
        let mut cab = driving();
        change(&mut cab);
        cab.run(1_500);
        assert!(!cab.stepper.machine().diagnostics().permission_drive, "loss {number}");
        change(&mut cab);
        cab.run(500);
        cab.inputs.enable_button = true;
        cab.run(200);
        cab.inputs.enable_button = false;
        cab.run(2_000);
        assert!(!cab.stepper.machine().diagnostics().permission_drive, "loss {number} with the lever held");
        assert_eq!(drive_currents(&cab), 0, "loss {number}");
        cab.hands.left[1] = 0;
        cab.run(700);
        cab.inputs.enable_button = true;
        cab.run(200);
        assert!(
            cab.stepper.machine().diagnostics().permission_drive,
            "loss {number} after neutral and enable"
        );
    }
}

#[test]
fn a_live_write_neither_heals_a_coil_nor_interrupts_one() {
    let mut cab = driving();
    let parameters = Parameters::default();
    let before = cab.fast_outputs.left_pump_forward;
    cab.stepper.reconfigure(&parameters).unwrap();
    for _ in 0..10 {
        cab.step();
        let now = cab.fast_outputs.left_pump_forward;
        assert!(now.raw().abs_diff(before.raw()) < 500, "{} after {}", now.raw(), before.raw());
    }
}
