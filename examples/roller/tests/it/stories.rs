//! Every scenario of the roller on its simulated machine, on this computer.

use std::time::Instant;

use roller::Roller;
use roller::declaration::Outputs;
use trunnion::machine::{Boot, Machine, Stepper};
use trunnion_desk::bench::Bench;
use trunnion_desk::rehearsal::{
    broken_requirements, requirements_without_hazard, rig, run, shared_names, shared_pins,
};
use trunnion_rig::run::Plant;

use roller::desk::RollerBench;
use roller::desk::RollerPlant;

#[test]
fn every_requirement_holds_in_every_scenario() {
    assert!(RollerBench::SCENARIOS.len() >= 13, "the scenarios are not where they should be");
    let told = broken_requirements::<RollerBench>();
    assert!(told.is_empty(), "\n{told}");
}

#[test]
fn every_requirement_answers_a_hazard_of_the_list() {
    assert_eq!(requirements_without_hazard::<RollerBench>(), Vec::<String>::new());
}

#[test]
fn no_two_records_share_a_column_name_and_no_two_wires_a_pin() {
    assert_eq!(shared_names::<Roller>(), Vec::<&str>::new());
    assert_eq!(shared_pins::<Roller>(), Vec::<&str>::new());
}

#[test]
fn the_same_seed_gives_the_same_trace_on_every_run_and_another_seed_another() {
    let rig = rig::<RollerBench>();
    let text = include_str!("../../scenarios/seat_change.scenario");
    let other_seed = text.replace("seed      3", "seed      30");
    assert_ne!(text, other_seed);
    let hash = |text: &str| run::<RollerBench>(&rig, "seat_change", text).hash;
    assert_eq!(hash(text), hash(text));
    assert_ne!(hash(text), hash(&other_seed));
}

/// Ten minutes of a shift: operator, kinematic machine, both loops of the controller. Printed, not asserted:
/// `cargo test --release -p roller -- --ignored --nocapture real_time_factor`.
#[test]
#[ignore = "a measurement of this computer, not a claim that can fail"]
fn real_time_factor_of_the_whole_closed_loop() {
    const PERIODS: u32 = 60_000;
    let best = (0..5).map(|_| closed_loop(PERIODS)).fold(f64::MAX, f64::min);
    println!("whole closed loop: {:.0} times real time", 0.01 * f64::from(PERIODS) / best);
    let rig = rig::<RollerBench>();
    let text = include_str!("../../scenarios/compaction_pass.scenario");
    let text = text.replace("length    34 s", "length    600 s");
    let began = Instant::now();
    run::<RollerBench>(&rig, "compaction_pass", &text);
    let seconds = began.elapsed().as_secs_f64();
    println!("with trace, hash and requirements: {:.0} times real time", 600.0 / seconds);
}

/// Seconds for so many periods, driving to and fro.
fn closed_loop(periods: u32) -> f64 {
    let place =
        |name: &str| RollerPlant::ACTIONS.iter().position(|action| action.name == name).unwrap() as u16;
    let (drive, enable) = (place("left_drive"), place("enable_button"));
    let mut plant = RollerPlant::start(1);
    for (name, value) in [
        ("engine_running", 1.0),
        ("hand_throttle", 100.0),
        ("key", 1.0),
        ("park_brake_switch", 1.0),
        ("seat", 1.0),
    ] {
        plant.act(place(name), value);
    }
    let mut stepper = Stepper::<Roller>::start(&Boot::default());
    let mut outputs = Outputs::default();
    let mut farthest = 0.0_f64;
    let began = Instant::now();
    for period in 0..periods {
        match period {
            240 => plant.act(enable, 1.0),
            270 => plant.act(enable, 0.0),
            _ if period % 2_000 == 400 => plant.act(drive, 50.0),
            _ if period % 2_000 == 1_400 => plant.act(drive, -50.0),
            _ => {}
        }
        for _ in 0..Roller::FAST_STEPS {
            let fast = stepper.fast_step(&plant.fast_inputs());
            plant.advance(&fast, &outputs);
        }
        outputs = stepper.step(&plant.inputs());
        let speed = stepper.machine().diagnostics().travel_motor_speed;
        farthest = farthest.max(f64::from(speed.raw()));
    }
    let seconds = began.elapsed().as_secs_f64();
    assert!(farthest > 4_000.0, "it did not drive");
    seconds
}
