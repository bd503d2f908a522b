//! Every scenario of the loader on its simulated machine, on this computer.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use loader::Loader;
use loader::declaration::Fault;
use trunnion::declare::FaultSet;
use trunnion_rig::requirement::Verdict;
use trunnion_rig::run::{Rig, Run};
use trunnion_rig::scenario::Scenario;
use trunnion_rig::trace::ColumnKind;

use crate::desk::plant::LoaderPlant;
use crate::desk::requirements::{HAZARDS, REQUIREMENTS};

/// The loader on its plant.
pub fn rig() -> Rig<Loader, LoaderPlant> {
    Rig::new(REQUIREMENTS).unwrap_or_else(|error| panic!("{error}"))
}

/// Runs a scenario from its text.
pub fn run(rig: &Rig<Loader, LoaderPlant>, origin: &str, text: &str) -> Run {
    let scenario = Scenario::parse(origin, text).unwrap_or_else(|complaints| panic!("{complaints}"));
    rig.run(&scenario).unwrap_or_else(|complaints| panic!("{complaints}"))
}

/// Name of a fault's column in the trace.
pub fn column_of(fault: Fault) -> String {
    let mut name = String::from("fault");
    for letter in Fault::INFO[fault as usize].name.chars() {
        if letter.is_uppercase() {
            name.push('_');
        }
        name.extend(letter.to_lowercase());
    }
    name
}

/// Names of the faults that were active at any time, with the time at which they came up first.
pub fn faults(run: &Run) -> Vec<(String, f64)> {
    let first = |values: &[f64]| values.iter().position(|value| *value != 0.0);
    run.trace
        .of_kind(ColumnKind::Fault)
        .filter_map(|column| {
            first(&column.values).map(|row| (column.info.name.clone(), row as f64 * run.trace.period))
        })
        .collect()
}

fn scenario_files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios");
    let mut files: Vec<PathBuf> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "scenario"))
        .collect();
    files.sort();
    files
}

/// What did not hold, with what happened in that run.
fn complaints(run: &Run) -> String {
    let mut text = String::new();
    let failed = run.results.iter().filter(|result| result.verdict != Verdict::Held);
    for result in failed {
        let at = result.at.map_or(String::new(), |at| format!(" at {at:.2} s"));
        let _ = writeln!(
            text,
            "{}: {} {:?}{at}: {}\n    {}\n    {}",
            run.origin, result.id, result.verdict, result.sentence, result.formula, result.explanation
        );
    }
    if !text.is_empty() {
        let _ = writeln!(text, "    faults: {:?}", faults(run));
    }
    text
}

#[test]
fn every_requirement_holds_in_every_scenario() {
    let rig = rig();
    let files = scenario_files();
    assert!(files.len() >= 13, "the scenarios are not where they should be");
    let half = files.len().div_ceil(2);
    let told: String = std::thread::scope(|scope| {
        let tasks: Vec<_> = files
            .chunks(half)
            .map(|files| {
                let rig = &rig;
                scope.spawn(move || {
                    files
                        .iter()
                        .map(|file| {
                            let name = file.file_name().unwrap().to_string_lossy();
                            let run = run(rig, &name, &std::fs::read_to_string(file).unwrap());
                            assert!(run.complete, "{name} was broken off");
                            complaints(&run)
                        })
                        .collect::<String>()
                })
            })
            .collect();
        tasks.into_iter().map(|task| task.join().unwrap()).collect()
    });
    assert!(told.is_empty(), "\n{told}");
}

#[test]
fn every_requirement_answers_a_hazard_of_the_list() {
    let known = |hazard: &str| HAZARDS.iter().any(|(id, _)| *id == hazard);
    for requirement in REQUIREMENTS {
        assert!(known(requirement.hazard), "{}: {} is no hazard", requirement.id, requirement.hazard);
    }
    for file in scenario_files() {
        let text = std::fs::read_to_string(&file).unwrap();
        let scenario = Scenario::parse(&file.to_string_lossy(), &text).unwrap();
        for stated in scenario.requirements.iter() {
            assert!(known(&stated.hazard), "{}: {}", file.display(), stated.sentence);
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_trace_on_every_run_and_another_seed_another() {
    let rig = rig();
    let text = include_str!("../../scenarios/lever_lost_h_pattern.scenario");
    let other_seed = text.replace("seed      4", "seed      5");
    assert_ne!(text, other_seed);
    let hash = |text: &str| run(&rig, "lever_lost_h_pattern", text).hash;
    assert_eq!(hash(text), hash(text));
    assert_ne!(hash(text), hash(&other_seed));
}
