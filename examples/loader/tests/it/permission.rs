//! Who may move, told as stories.

use loader::declaration::Parameters;
use trunnion::machine::Machine;

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
    assert_eq!(diagnostics.why_not_drive, loader::control::reasons::Reason::NotAskedFor);
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
    let bar = loader::control::reasons::Reason::BarUp.bit();
    assert!(control.reason_log().entries().any(|entry| entry.why_not[0].has(bar)));
}
