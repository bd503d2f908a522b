//! What every machine's tests ask of its scenarios and its declaration, as functions that a test calls.
//!
//! ```text
//! #[test]
//! fn every_requirement_holds_in_every_scenario() {
//!     assert_eq!(trunnion_desk::rehearsal::broken_requirements::<RollerBench>(), "");
//! }
//! ```

use std::fmt::Write as _;

use trunnion::declare::{FaultSet, FieldInfo, Record};
use trunnion::machine::{FastInputs, FastOutputs, Machine};
use trunnion_rig::requirement::Verdict;
use trunnion_rig::run::{Rig, Run};
use trunnion_rig::scenario::Scenario;
use trunnion_rig::trace::ColumnKind;

use crate::bench::Bench;

/// A machine on its plant, as its bench has them.
pub type RigOf<B> = Rig<<B as Bench>::Machine, <B as Bench>::Plant>;

/// The machine on its plant. Panics where a requirement of the bench cannot be understood.
pub fn rig<B: Bench>() -> RigOf<B> {
    Rig::new(B::REQUIREMENTS).unwrap_or_else(|error| panic!("{error}"))
}

/// Runs a scenario from its text. Panics where it cannot be understood.
pub fn run<B: Bench>(rig: &RigOf<B>, origin: &str, text: &str) -> Run {
    let scenario = Scenario::parse(origin, text).unwrap_or_else(|complaints| panic!("{complaints}"));
    rig.run(&scenario).unwrap_or_else(|complaints| panic!("{complaints}"))
}

/// What did not hold in any scenario of the bench, with what happened in that run; empty when all held.
pub fn broken_requirements<B: Bench>() -> String
where
    RigOf<B>: Sync,
{
    let rig = rig::<B>();
    let half = B::SCENARIOS.len().div_ceil(2).max(1);
    std::thread::scope(|scope| {
        let tasks: Vec<_> = B::SCENARIOS
            .chunks(half)
            .map(|part| {
                let rig = &rig;
                scope.spawn(move || {
                    part.iter().map(|(name, text)| complaints(&run::<B>(rig, name, text))).collect::<String>()
                })
            })
            .collect();
        tasks.into_iter().map(|task| task.join().unwrap_or_else(|_| "a run panicked\n".into())).collect()
    })
}

fn complaints(run: &Run) -> String {
    let mut text = String::new();
    if !run.complete {
        let _ = writeln!(text, "{}: broken off", run.origin);
    }
    for result in run.results.iter().filter(|result| result.verdict != Verdict::Held) {
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

/// Names of the faults that were active at any time, with the time at which they came up first.
pub fn faults(run: &Run) -> Vec<(String, f64)> {
    let first = |values: &[f64]| values.iter().position(|value| *value != 0.0);
    run.trace
        .of_kind(ColumnKind::Fault)
        .filter_map(|column| {
            let row = first(&column.values)?;
            Some((column.info.name.clone(), row as f64 * run.trace.period))
        })
        .collect()
}

/// Name of a fault's column in the trace; empty when there is no such place in the table.
pub fn fault_column<F: FaultSet>(place: usize) -> String {
    let mut name = String::from("fault");
    let Some(info) = F::INFO.get(place) else { return String::new() };
    for letter in info.name.chars() {
        if letter.is_uppercase() {
            name.push('_');
        }
        name.extend(letter.to_lowercase());
    }
    name
}

/// Requirements of the bench and of its scenarios that answer no hazard of its list.
pub fn requirements_without_hazard<B: Bench>() -> Vec<String> {
    let known = |hazard: &str| B::HAZARDS.iter().any(|(id, _)| *id == hazard);
    let standing = B::REQUIREMENTS
        .iter()
        .filter(|requirement| !known(requirement.hazard))
        .map(|requirement| format!("{}: {} is no hazard", requirement.id, requirement.hazard));
    let told = B::SCENARIOS.iter().flat_map(|(name, text)| {
        let scenario = Scenario::parse(name, text).unwrap_or_else(|complaints| panic!("{complaints}"));
        let unknown = scenario.requirements.iter().filter(|stated| !known(&stated.hazard));
        unknown.map(|stated| format!("{name}: {}", stated.sentence)).collect::<Vec<_>>()
    });
    standing.chain(told).collect()
}

fn records<M: Machine>() -> impl Iterator<Item = &'static FieldInfo> {
    let tables = [M::Inputs::FIELDS, M::Outputs::FIELDS, FastInputs::<M>::FIELDS, FastOutputs::<M>::FIELDS];
    tables.into_iter().flatten()
}

/// Names that two columns of the machine's records share.
pub fn shared_names<M: Machine>() -> Vec<&'static str> {
    repeated(records::<M>().chain(M::Diagnostics::FIELDS).map(|field| field.name))
}

/// Pins that two wires share. A pickup's count and stamp are one wire, and a bus has many messages: its pins have a `/`.
pub fn shared_pins<M: Machine>() -> Vec<&'static str> {
    use trunnion::declare::Wire;
    let own = records::<M>().filter(|field| field.wire != Wire::PulseStamp);
    repeated(own.map(|field| field.pin).filter(|pin| !pin.is_empty() && !pin.contains('/')))
}

fn repeated(names: impl Iterator<Item = &'static str>) -> Vec<&'static str> {
    let mut names: Vec<&str> = names.collect();
    names.sort_unstable();
    let mut twice: Vec<&str> =
        names.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| pair[0]).collect();
    twice.dedup();
    twice
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_there_twice_is_told_once() {
        assert_eq!(repeated(["a", "b", "a", "c", "a", "b"].into_iter()), ["a", "b"]);
        assert!(repeated(["a", "b"].into_iter()).is_empty());
    }
}
