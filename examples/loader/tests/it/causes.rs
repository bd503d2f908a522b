//! Every declared fault is raised by its cause, and by nothing that is ordinary.

use loader::declaration::{Coil, Fault, Parameters};
use trunnion::machine::Machine;
use trunnion_desk::rehearsal::{self, RigOf, faults, rig, run};
use trunnion_rig::run::Run;
use trunnion_rig::trace::ColumnKind;

use crate::cab::Cab;
use loader::desk::LoaderBench;

const READY: &str = "
length 9 s
set engine_running = yes, hand_throttle = 100 %, key = run, operator_seated = yes, restraint_bar = down
set lock_released = yes, park_brake_switch = off, pattern_rocker = iso
at 2.4 s enable_button = yes
at 2.7 s enable_button = no
at 3 s left_lever_y = 60 %
";

fn column_of(fault: Fault) -> String {
    rehearsal::fault_column::<Fault>(fault as usize)
}

fn story(rig: &RigOf<LoaderBench>, deeds: &str) -> Vec<String> {
    let text = format!("scenario a cause{READY}{deeds}");
    faults(&run::<LoaderBench>(rig, deeds, &text)).into_iter().map(|(name, _)| name).collect()
}

/// What happens to the machine for each fault that a scenario can cause.
const CAUSES: &[(Fault, &str)] = &[
    (Fault::EmergencyStop, "at 5 s emergency_stop = pressed"),
    (Fault::EmergencyStopContacts, "at 5 s break emergency_stop_first: open"),
    (Fault::CutOffStuckOn, "at 0 s break coil_supply: short_to_supply"),
    (Fault::CutOffStuckOff, "at 5 s break coil_supply: open"),
    (Fault::StrayCurrent, "at 5 s break boom_lower: short_to_supply"),
    (Fault::GateDisagrees, "at 5 s break boom_lower_current: stray_current"),
    (Fault::SupplyLow, "at 5 s break supply_voltage: open"),
    (Fault::SupplyHigh, "at 3 s break supply_voltage: drift\nat 3 s parameter supply_high = 15000 mV"),
    (Fault::SensorSupply, "at 5 s break sensor_supply: open"),
    (Fault::LeftLeverNeverSeen, "at 0 s break left_lever: lost"),
    (Fault::LeftLeverLost, "at 5 s break left_lever: lost"),
    (Fault::LeftLeverValue, "at 5 s break left_lever: not_available"),
    (Fault::LeftLeverInconsistent, "at 5 s break left_lever: inconsistent"),
    (Fault::LeftLeverDuplicated, "at 5 s break left_lever: duplicated"),
    (Fault::RightLeverNeverSeen, "at 0 s break right_lever: lost"),
    (Fault::RightLeverLost, "at 5 s break right_lever: late"),
    (Fault::RightLeverValue, "at 5 s break right_lever_extended: error_value"),
    (Fault::RightLeverInconsistent, "at 5 s break right_lever: inconsistent"),
    (Fault::RightLeverDuplicated, "at 5 s break right_lever: duplicated"),
    (Fault::PatternRocker, "at 5 s pattern_rocker = between"),
    (Fault::EngineSpeedDisagrees, "at 5 s break engine_pickup_edges: open"),
    (Fault::EngineControllerLost, "at 5 s break engine_controller: error_value"),
    (Fault::LeftMotorPickup, "at 5 s break left_motor_edges: open"),
    (Fault::RightMotorPickup, "at 5 s break right_motor_edges: noise"),
    (Fault::ChargePressureSensor, "at 5 s break charge_pressure_signal: open"),
    (Fault::ChargePressureLow, "at 5 s parameter charge_pressure_low = 2500 kPa"),
    (Fault::OilTemperatureSensor, "at 5 s break oil_temperature_signal: short_to_supply"),
    (Fault::OilHot, "at 3 s oil_temperature = 115 °C"),
    (Fault::HandThrottleSensor, "at 5 s break hand_throttle_signal: open"),
    (
        Fault::DriveCurrentUnreachable,
        "set coil_temperature = 100 °C\nparameter left_pump_forward_end = 1500 mA\nat 4 s left_lever_y = 100 %\nat 5 s break left_pump_forward: high_resistance",
    ),
    (
        Fault::WorkCurrentUnreachable,
        "set coil_temperature = 100 °C\nparameter boom_raise_end = 1500 mA\nat 4 s right_lever_y = -100 %\nat 5 s break boom_raise: high_resistance",
    ),
];

/// How each coil is driven.
const DRIVEN: [(Coil, &str); Coil::COUNT] = [
    (Coil::left_pump_forward, "left_lever_y = 60 %"),
    (Coil::left_pump_reverse, "left_lever_y = -60 %"),
    (Coil::right_pump_forward, "left_lever_y = 60 %"),
    (Coil::right_pump_reverse, "left_lever_y = -60 %"),
    (Coil::boom_raise, "right_lever_y = -60 %"),
    (Coil::boom_lower, "right_lever_y = 60 %"),
    (Coil::boom_float, "float_button = yes"),
    (Coil::bucket_curl, "right_lever_x = -60 %"),
    (Coil::bucket_dump, "right_lever_x = 60 %"),
    (Coil::auxiliary_a, "right_lever_wheel = 60 %"),
    (Coil::auxiliary_b, "right_lever_wheel = -60 %"),
];

#[test]
fn each_fault_of_the_machine_is_raised_by_its_cause() {
    let rig = rig::<LoaderBench>();
    for (fault, deeds) in CAUSES {
        let raised = story(&rig, deeds);
        let name = column_of(*fault);
        assert!(raised.contains(&name), "{deeds}: {name} is not among {raised:?}");
    }
}

#[test]
fn each_coil_is_found_open_and_shorted() {
    let rig = rig::<LoaderBench>();
    for (coil, driven) in DRIVEN {
        for (failure, first) in
            [("open", Fault::LeftPumpForwardOpen), ("short_to_supply", Fault::LeftPumpForwardShort)]
        {
            let deeds = format!("at 5 s {driven}\nat 7 s break {coil:?}: {failure}");
            let raised = story(&rig, &deeds);
            let name = column_of(Fault::ALL[first as usize + coil as usize]);
            assert!(raised.contains(&name), "{deeds}: {name} is not among {raised:?}");
        }
    }
}
#[test]
fn a_coil_whose_current_follows_no_longer_is_found_when_more_is_asked() {
    let rig = rig::<LoaderBench>();
    for (coil, driven) in DRIVEN {
        if coil == Coil::boom_float {
            // On or off: a wrong current of it shows as open, short or not to be reached.
            continue;
        }
        let more = driven.replace("60 %", "100 %");
        let deeds = format!("at 5 s {driven}\nat 7 s {more}\nat 7.05 s break {coil:?}_current: stuck");
        let raised = story(&rig, &deeds);
        let name = column_of(Fault::ALL[Fault::LeftPumpForwardCurrent as usize + coil as usize]);
        assert!(raised.contains(&name), "{deeds}: {name} is not among {raised:?}");
    }
}

/// When a fault is seen first and last, in seconds; none when it never comes up.
fn told(run: &Run, fault: Fault) -> Option<(f64, f64)> {
    let name = column_of(fault);
    let column = run.trace.of_kind(ColumnKind::Fault).find(|column| column.info.name == name)?;
    let first = column.values.iter().position(|value| *value != 0.0)?;
    let last = column.values.iter().rposition(|value| *value != 0.0)?;
    Some((first as f64 * run.trace.period, last as f64 * run.trace.period))
}

/// Causes that are a broken wire or unit of a running machine, with its name.
fn broken() -> impl Iterator<Item = (Fault, &'static str, &'static str)> {
    CAUSES.iter().filter_map(|(fault, deeds)| {
        let broken = deeds.strip_prefix("at 5 s break ")?.split_once(": ")?.0;
        Some((*fault, *deeds, broken))
    })
}

/// How long a fault may take to come up, in seconds.
fn patience(fault: Fault) -> f64 {
    match fault {
        // What only limits the drive, or nothing, may be looked at for long.
        Fault::EngineSpeedDisagrees | Fault::LeftMotorPickup | Fault::RightMotorPickup => 2.2,
        Fault::OilTemperatureSensor | Fault::EngineControllerLost | Fault::HandThrottleSensor => 0.7,
        _ => 0.2,
    }
}

#[test]
fn a_fault_comes_up_in_time_and_one_bad_period_raises_none_but_a_stray_current() {
    let rig = rig::<LoaderBench>();
    let mut at_once = Vec::new();
    for (fault, deeds, signal) in broken() {
        let story = |deeds: &str| run::<LoaderBench>(&rig, deeds, &format!("scenario a cause{READY}{deeds}"));
        let (first, _) = told(&story(deeds), fault).expect("tried by the test above");
        assert!(first >= 5.0 && first <= 5.0 + patience(fault), "{deeds}: told at {first} s");
        let short = format!("{deeds}\nat 5.01 s mend {signal}");
        if told(&story(&short), fault).is_some() {
            at_once.push(fault);
        }
    }
    // A current that nobody asked for is cut at once.
    assert_eq!(at_once, [Fault::StrayCurrent]);
}

#[test]
fn a_fault_stays_long_enough_to_be_seen_and_goes_as_its_kind_does() {
    use trunnion::declare::Latch::{UntilNeutral, UntilRestart, WhilePresent};
    let rig = rig::<LoaderBench>();
    for (fault, deeds, signal) in broken() {
        // The lever stays out of neutral for 2 s after the cause is gone.
        let deeds = format!("{deeds}\nat 7 s mend {signal}\nat 9 s left_lever_y = 0 %\n");
        let text = format!("scenario a cause{READY}{deeds}").replace("length 9 s", "length 12 s");
        let (_, last) =
            told(&run::<LoaderBench>(&rig, &deeds, &text), fault).expect("tried by the test above");
        assert!(last >= 7.09, "{fault:?} was gone at {last} s, before anybody could see it");
        let seen = match last {
            ..8.9 => WhilePresent,
            ..11.0 => UntilNeutral,
            _ => UntilRestart,
        };
        let expected = match fault {
            Fault::EmergencyStopContacts
            | Fault::CutOffStuckOff
            | Fault::GateDisagrees
            | Fault::StrayCurrent
            | Fault::LeftLeverDuplicated
            | Fault::RightLeverDuplicated => UntilRestart,
            Fault::SupplyLow => UntilNeutral,
            _ if column_of(fault).contains("lever") => UntilNeutral,
            _ => WhilePresent,
        };
        assert_eq!(seen, expected, "{fault:?} was seen last at {last} s");
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
        // 100 more edges a period: 7600 rpm.
        cab.inputs.engine_pickup_edges = cab.inputs.engine_pickup_edges.wrapping_add(100);
        cab.step();
    }
    assert!(raised(&cab, Fault::EnginePickup));
    let mut cab = Cab::new(Parameters::default());
    cab.permit();
    cab.inputs.bus_lost = 1;
    cab.step();
    assert!(raised(&cab, Fault::BusOverrun) && !raised(&cab, Fault::BusOff));
    cab.run(1_010);
    assert!(!raised(&cab, Fault::BusOverrun), "nothing more was lost");
    cab.inputs.bus_off = true;
    cab.step();
    assert!(raised(&cab, Fault::BusOff));
}

#[test]
fn every_fault_has_a_cause_that_was_tried() {
    // Raised on the bench: here and where contradictory parameters are tried.
    let on_the_bench = [
        Fault::ParametersReplaced,
        Fault::PeriodsMissed,
        Fault::EnginePickup,
        Fault::BusOverrun,
        Fault::BusOff,
    ];
    let of_a_coil = Fault::LeftPumpForwardOpen as usize..Fault::COUNT;
    for fault in Fault::ALL {
        let tried = CAUSES.iter().any(|(one, _)| one == fault)
            || on_the_bench.contains(fault)
            || of_a_coil.contains(&(*fault as usize));
        assert!(tried, "{fault:?} has no cause here");
    }
}
