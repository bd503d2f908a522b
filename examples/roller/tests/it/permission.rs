//! Who commands, who may move, and how it stops.

use roller::control::reasons::Reason;
use roller::control::stations::Station;
use roller::declaration::{Diagnostics, Fault, Parameters};
use trunnion::guard::StopKind;
use trunnion::machine::Machine;
use trunnion::propel::SinglePathState;
use trunnion::quantity::{Millivolts, Ratio};

use crate::cab::{Cab, Hand};

fn permitted() -> Cab {
    let mut cab = Cab::new(Parameters::default());
    cab.permit();
    assert!(now(&cab).permission_drive && now(&cab).permission_steer, "{:?}", now(&cab).why_not_drive);
    cab
}

fn now(cab: &Cab) -> Diagnostics {
    cab.stepper.machine().diagnostics()
}

/// Driving forward with the motor turning as asked.
fn driving() -> Cab {
    let mut cab = permitted();
    cab.hands[0] = Hand { drive: 600, steer: 0 };
    cab.travel_rpm = 800.0;
    cab.run(3_000);
    assert_eq!(now(&cab).drive_sequence, SinglePathState::Driving);
    assert!(now(&cab).drive_command > Ratio::ZERO);
    cab
}

#[test]
fn nothing_is_permitted_before_it_was_asked_for() {
    let mut cab = Cab::new(Parameters::default());
    cab.run(5_000);
    assert_eq!(now(&cab).station, Station::Left);
    assert_eq!(
        (now(&cab).why_not_drive, now(&cab).why_not_steer),
        (Reason::NotAskedFor, Reason::NotAskedFor)
    );
    cab.enable();
    assert!(now(&cab).permission_drive && now(&cab).permission_steer);
}

#[test]
fn a_lever_of_the_other_station_moves_nothing_and_keeps_it_from_taking_over() {
    let mut cab = permitted();
    cab.hands[1] = Hand { drive: 900, steer: 900 };
    cab.run(2_000);
    assert_eq!((now(&cab).drive_intent, now(&cab).steer_intent), (Ratio::ZERO, Ratio::ZERO));
    cab.inputs.left_seat_occupied = false;
    cab.inputs.right_seat_occupied = true;
    cab.run(5_000);
    assert_eq!((now(&cab).station, now(&cab).station_waiting), (Station::Left, Station::Right));
    cab.hands[1] = Hand::default();
    cab.run(1_000);
    assert_eq!((now(&cab).station, now(&cab).station_waiting), (Station::Right, Station::None));
    assert!(!now(&cab).permission_drive, "it must be asked for anew");
    cab.enable();
    cab.hands[1].drive = 500;
    cab.run(2_000);
    assert!(now(&cab).drive_command > Ratio::ZERO);
}

#[test]
fn a_passenger_takes_nothing_over() {
    let mut cab = permitted();
    cab.inputs.right_seat_occupied = true;
    cab.run(3_000);
    assert_eq!((now(&cab).station, now(&cab).station_waiting), (Station::Left, Station::None));
    assert!(now(&cab).permission_drive);
}

#[test]
fn the_pump_waits_for_the_brake_and_the_brake_for_the_stop() {
    let mut cab = permitted();
    assert!(!cab.outputs.park_brake_valve);
    cab.hands[0].drive = 500;
    cab.run(100);
    assert!(cab.outputs.park_brake_valve);
    assert_eq!((now(&cab).drive_sequence, now(&cab).drive_command), (SinglePathState::Opening, Ratio::ZERO));
    cab.run(2_000);
    cab.travel_rpm = 500.0;
    cab.inputs.park_brake_off = false;
    cab.run(1_500);
    assert!(cab.outputs.park_brake_valve, "it still rolls");
    assert_eq!(now(&cab).why_not_drive, Reason::ParkBrakeOn);
    cab.travel_rpm = 0.0;
    cab.run(2_000);
    assert!(!cab.outputs.park_brake_valve);
}

#[test]
fn an_empty_seat_stops_the_drive_along_its_ramp_and_leaves_the_steering_while_it_rolls() {
    let mut cab = driving();
    cab.inputs.left_seat_occupied = false;
    cab.run(800);
    assert_eq!((now(&cab).stop_drive, now(&cab).why_not_drive), (StopKind::Controlled, Reason::SeatEmpty));
    assert!(now(&cab).permission_steer);
    cab.travel_rpm = 0.0;
    cab.run(3_000);
    assert_eq!((now(&cab).permission_steer, now(&cab).why_not_steer), (false, Reason::SeatEmpty));
}

#[test]
fn an_emergency_stop_takes_every_current_in_the_same_period() {
    let mut cab = driving();
    cab.inputs.emergency_stop_second = false;
    cab.hold();
    cab.step();
    assert!(!cab.outputs.coil_supply && !cab.outputs.park_brake_valve);
    assert!(cab.set_points().currents().iter().all(|current| current.raw() == 0));
    assert_eq!(now(&cab).stop_drive, StopKind::Immediate);
}

#[test]
fn a_broken_steer_lever_brings_the_machine_to_rest_and_one_of_the_other_station_does_not() {
    let mut cab = driving();
    for _ in 0..30 {
        cab.hold();
        cab.inputs.right_steer_first = Millivolts::ZERO;
        cab.step();
    }
    assert!(cab.stepper.machine().is_fault_active(Fault::RightSteerLow as u16));
    assert!(now(&cab).permission_drive);
    for _ in 0..30 {
        cab.hold();
        cab.inputs.left_steer_first = Millivolts::saturating(4_990);
        cab.step();
    }
    assert!(cab.stepper.machine().is_fault_active(Fault::LeftSteerHigh as u16));
    assert_eq!((now(&cab).stop_drive, now(&cab).permission_steer), (StopKind::Controlled, false));
}

#[test]
fn the_drum_vibrates_only_in_its_window_and_after_a_loss_only_when_switched_on_anew() {
    let mut cab = driving();
    let press = |cab: &mut Cab| {
        cab.inputs.vibration_button = true;
        cab.run(100);
        cab.inputs.vibration_button = false;
        cab.run(100);
    };
    press(&mut cab);
    // The bench has no eccentric shaft: within three seconds that is no fault yet.
    cab.run(1_000);
    assert!(now(&cab).permission_vibration && now(&cab).vibration_command > Ratio::ZERO);
    cab.travel_rpm = 1_300.0;
    cab.run(300);
    assert_eq!(now(&cab).why_not_vibration, Reason::TooFast);
    cab.travel_rpm = 1_100.0;
    cab.run(300);
    assert_eq!(now(&cab).why_not_vibration, Reason::TooFast, "not before the lower limit");
    cab.travel_rpm = 60.0;
    cab.run(500);
    assert_eq!(now(&cab).why_not_vibration, Reason::TooSlow);
    cab.run(2_000);
    assert_eq!(now(&cab).vibration_command, Ratio::ZERO);
    cab.travel_rpm = 800.0;
    cab.inputs.park_brake_off = false;
    cab.run(200);
    cab.inputs.park_brake_off = true;
    assert!(!now(&cab).vibration_on, "switched off with the drive");
}
