//! Every scenario of the loader on its simulated machine, on this computer.

use loader::Loader;
use trunnion_desk::bench::Bench;
use trunnion_desk::rehearsal::{
    broken_requirements, requirements_without_hazard, rig, run, shared_names, shared_pins,
};

use loader::desk::LoaderBench;

#[test]
fn every_requirement_holds_in_every_scenario() {
    assert!(LoaderBench::SCENARIOS.len() >= 13, "the scenarios are not where they should be");
    let told = broken_requirements::<LoaderBench>();
    assert!(told.is_empty(), "\n{told}");
}

#[test]
fn every_requirement_answers_a_hazard_of_the_list() {
    assert_eq!(requirements_without_hazard::<LoaderBench>(), Vec::<String>::new());
}

#[test]
fn no_two_records_share_a_column_name_and_no_two_wires_a_pin() {
    assert_eq!(shared_names::<Loader>(), Vec::<&str>::new());
    assert_eq!(shared_pins::<Loader>(), Vec::<&str>::new());
}

#[test]
fn the_same_seed_gives_the_same_trace_on_every_run_and_another_seed_another() {
    let rig = rig::<LoaderBench>();
    let text = include_str!("../../scenarios/lever_lost_h_pattern.scenario");
    let other_seed = text.replace("seed      4", "seed      5");
    assert_ne!(text, other_seed);
    let hash = |text: &str| run::<LoaderBench>(&rig, "lever_lost_h_pattern", text).hash;
    assert_eq!(hash(text), hash(text));
    assert_ne!(hash(text), hash(&other_seed));
}
