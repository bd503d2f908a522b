//! Every declared fault is raised by its cause, and by nothing that is ordinary.

use roller::declaration::{Coil, Fault, Parameters};
use trunnion::machine::Machine;
use trunnion_desk::rehearsal::{RigOf, fault_column, faults, rig, run};

use crate::cab::Cab;
use roller::desk::RollerBench;

const READY: &str = "
length 14 s
set engine_running = yes, hand_throttle = 100 %, key = run, seat = left, park_brake_switch = off
at 2.4 s enable_button = yes
at 2.7 s enable_button = no
at 3 s vibration_button = yes
at 3.3 s vibration_button = no
at 3.5 s left_drive = 50 %
";

fn column_of(fault: Fault) -> String {
    fault_column::<Fault>(fault as usize)
}

fn story(rig: &RigOf<RollerBench>, deeds: &str) -> Vec<String> {
    let text = format!("scenario a cause{READY}{deeds}");
    faults(&run::<RollerBench>(rig, deeds, &text)).into_iter().map(|(name, _)| name).collect()
}

/// What happens to the machine for each fault that a scenario can cause.
const CAUSES: &[(Fault, &str)] = &[
    (Fault::EmergencyStop, "at 8 s emergency_stop = pressed"),
    (Fault::EmergencyStopContacts, "at 8 s break emergency_stop_first: open"),
    (Fault::CutOffStuckOn, "at 0 s break coil_supply: short_to_supply"),
    (Fault::CutOffStuckOff, "at 8 s break coil_supply: open"),
    (Fault::StrayCurrent, "at 8 s break steer_left: short_to_supply"),
    (
        Fault::GateDisagrees,
        "at 8 s break drive_reverse_current: stray_current\nat 8.1 s emergency_stop = pressed",
    ),
    (Fault::SupplyLow, "at 8 s break supply_voltage: open"),
    (Fault::SupplyHigh, "at 3 s break supply_voltage: drift\nat 3 s parameter supply_high = 15000 mV"),
    (Fault::SensorSupply, "at 8 s break sensor_supply: open"),
    (Fault::LeftDriveLow, "at 8 s break left_drive_first: open"),
    (Fault::LeftDriveHigh, "at 8 s break left_drive_second: short_to_supply"),
    (Fault::LeftDriveDisagrees, "at 8 s break left_drive_first: drift"),
    (Fault::LeftSteerLow, "at 8 s break left_steer_second: short_to_ground"),
    (Fault::LeftSteerHigh, "at 8 s break left_steer_first: short_to_supply"),
    (Fault::LeftSteerDisagrees, "at 8 s break left_steer_first: stuck\nat 8.1 s left_steer = 50 %"),
    (Fault::RightDriveLow, "at 8 s break right_drive_first: open"),
    (Fault::RightDriveHigh, "at 8 s break right_drive_second: short_to_supply"),
    (Fault::RightDriveDisagrees, "at 8 s break right_drive_second: drift"),
    (Fault::RightSteerLow, "at 8 s break right_steer_first: open"),
    (Fault::RightSteerHigh, "at 8 s break right_steer_second: short_to_supply"),
    (Fault::RightSteerDisagrees, "at 8 s break right_steer_second: drift"),
    (Fault::AmplitudeRocker, "at 8 s amplitude_rocker = between"),
    (Fault::EngineSpeedDisagrees, "at 8 s break engine_pickup_edges: open"),
    (Fault::EngineControllerLost, "at 8 s break engine_controller: error_value"),
    (Fault::TravelPickup, "at 8 s break travel_motor_edges: open"),
    (Fault::EccentricPickup, "at 8 s break eccentric_edges: open"),
    (Fault::ChargePressureSensor, "at 8 s break charge_pressure_signal: open"),
    (Fault::ChargePressureLow, "at 8 s parameter charge_pressure_low = 2500 kPa"),
    (
        Fault::CurrentUnreachable,
        "set coil_temperature = 100 °C\nparameter drive_forward_end = 1500 mA\nat 6 s left_drive = 100 %\nat 9 s break drive_forward: high_resistance",
    ),
];

/// How each coil is driven.
const DRIVEN: [(Coil, &str); Coil::COUNT] = [
    (Coil::drive_forward, "left_drive = 60 %"),
    (Coil::drive_reverse, "left_drive = -60 %"),
    (Coil::steer_left, "left_steer = -60 %"),
    (Coil::steer_right, "left_steer = 60 %"),
    (Coil::vibration_high, "left_drive = 50 %"),
    (Coil::vibration_low, "left_drive = 50 %"),
];

fn driven(coil: Coil, driven: &str) -> String {
    let rocker = if coil == Coil::vibration_low { "set amplitude_rocker = low\n" } else { "" };
    format!("{rocker}at 6 s {driven}")
}

#[test]
fn each_fault_of_the_machine_is_raised_by_its_cause() {
    let rig = rig::<RollerBench>();
    for (fault, deeds) in CAUSES {
        let raised = story(&rig, deeds);
        let name = column_of(*fault);
        assert!(raised.contains(&name), "{deeds}: {name} is not among {raised:?}");
    }
}

#[test]
fn what_is_ordinary_raises_no_fault() {
    let rig = rig::<RollerBench>();
    let raised = story(&rig, "at 7 s left_steer = 80 %\nat 8 s left_drive = -60 %\nat 12 s left_drive = 0 %");
    assert!(raised.is_empty(), "{raised:?}");
}

#[test]
fn each_coil_is_found_open_and_shorted() {
    let rig = rig::<RollerBench>();
    for (coil, deed) in DRIVEN {
        for (failure, first) in
            [("open", Fault::DriveForwardOpen), ("short_to_supply", Fault::DriveForwardShort)]
        {
            let deeds = format!("{}\nat 10 s break {coil:?}: {failure}", driven(coil, deed));
            let raised = story(&rig, &deeds);
            let name = column_of(Fault::ALL[first as usize + coil as usize]);
            assert!(raised.contains(&name), "{deeds}: {name} is not among {raised:?}");
        }
    }
}

#[test]
fn a_coil_whose_current_follows_no_longer_is_found_when_more_is_asked() {
    let rig = rig::<RollerBench>();
    for (coil, deed) in DRIVEN.into_iter().take(4) {
        let more = deed.replace("60 %", "100 %");
        let deeds = format!("{}\nat 9 s {more}\nat 9.05 s break {coil:?}_current: stuck", driven(coil, deed));
        let raised = story(&rig, &deeds);
        let name = column_of(Fault::ALL[Fault::DriveForwardCurrent as usize + coil as usize]);
        assert!(raised.contains(&name), "{deeds}: {name} is not among {raised:?}");
    }
    for (coil, rocker) in [(Coil::vibration_high, "high"), (Coil::vibration_low, "low")] {
        // While it is still rising.
        let deeds = format!("set amplitude_rocker = {rocker}\nat 5.2 s break {coil:?}_current: stuck");
        let raised = story(&rig, &deeds);
        let name = column_of(Fault::ALL[Fault::DriveForwardCurrent as usize + coil as usize]);
        assert!(raised.contains(&name), "{deeds}: {name} is not among {raised:?}");
    }
}

#[test]
fn faults_of_the_controller_are_raised_on_the_bench() {
    let raised = |cab: &Cab, fault: Fault| cab.stepper.machine().is_fault_active(fault as u16);
    let mut cab = Cab::new(Parameters::default());
    cab.permit();
    cab.inputs.missed_periods = 1;
    cab.run(100);
    assert!(raised(&cab, Fault::PeriodsMissed));
    let mut cab = Cab::new(Parameters::default());
    cab.permit();
    for _ in 0..20 {
        // 100 more edges a period: 7300 rpm.
        cab.inputs.engine_pickup_edges = cab.inputs.engine_pickup_edges.wrapping_add(100);
        cab.step();
    }
    assert!(raised(&cab, Fault::EnginePickup));
}

#[test]
fn every_fault_has_a_cause_that_was_tried() {
    // Raised on the bench: here and where contradictory parameters are tried.
    let on_the_bench = [Fault::ParametersReplaced, Fault::PeriodsMissed, Fault::EnginePickup];
    let of_a_coil = Fault::DriveForwardOpen as usize..Fault::COUNT;
    for fault in Fault::ALL {
        let tried = CAUSES.iter().any(|(one, _)| one == fault)
            || on_the_bench.contains(fault)
            || of_a_coil.contains(&(*fault as usize));
        assert!(tried, "{fault:?} has no cause here");
    }
}
