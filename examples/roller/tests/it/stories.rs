//! Every scenario of the roller on its simulated machine, on this computer.

use roller::Roller;
use trunnion_desk::bench::Bench;
use trunnion_desk::rehearsal::{
    broken_requirements, requirements_without_hazard, rig, run, shared_names, shared_pins,
};

use crate::desk::bench::RollerBench;

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

/// Minutes of a shift in a blink; printed, not asserted: `cargo test --release -p roller -- --ignored --nocapture`.
#[test]
#[ignore = "a measurement of this computer, not a claim that can fail"]
fn real_time_factor_of_the_whole_closed_loop() {
    let rig = rig::<RollerBench>();
    let text =
        include_str!("../../scenarios/compaction_pass.scenario").replace("length    34 s", "length    600 s");
    let began = std::time::Instant::now();
    let run = run::<RollerBench>(&rig, "compaction_pass", &text);
    let seconds = run.trace.period * run.trace.rows() as f64;
    println!("{seconds} s simulated, {:.0} times real time", seconds / began.elapsed().as_secs_f64());
}
