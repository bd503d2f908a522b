//! Whether what was seen of a cell is what was expected.

use std::collections::BTreeSet;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::expectation::fits;
use super::measured::{GONE, LIMB, MOVED, Measured, PERMITTED, STOPPED, STOPPED_LATE, TURNED};
use super::{Cell, Expectation, Rule, State};
use crate::requirement::show_number;

/// What became of a cell, and whether that was expected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellResult {
    /// `signal:way@state`.
    pub cell: String,
    /// What breaks.
    pub signal: String,
    /// How.
    pub way: String,
    /// What the machine is doing.
    pub state: String,
    /// The rule that decides the cell.
    pub rule: String,
    /// What was expected, in words.
    pub expected: String,
    /// The residual hazard, where the failure cannot be detected.
    pub hazard: String,
    /// What was seen.
    pub measured: Measured,
    /// What of [`Rule::also`] was seen.
    pub excused: Vec<String>,
    /// What differs from what was expected; empty when nothing does.
    pub red: Vec<String>,
    /// The story as a scenario that replays it.
    pub replay: String,
}

/// What is expected, what else may be, and what was not.
struct Judge<'a> {
    rule: &'a Rule,
    excused: BTreeSet<&'static str>,
    red: Vec<String>,
}

impl Judge<'_> {
    /// Something that the rule may excuse by its name.
    fn object(&mut self, name: &str, words: impl FnOnce() -> String) {
        match self.rule.also.iter().find(|pattern| fits(pattern, name)) {
            Some(pattern) => {
                self.excused.insert(pattern);
            }
            None => self.red.push(words()),
        }
    }
}

/// Judges a cell. `latched` are the faults that only a restart clears.
pub(super) fn judged(
    cell: &Cell,
    rule: &Rule,
    state: &State,
    latched: &[&str],
    measured: Measured,
    replay: String,
) -> CellResult {
    let mut judge = Judge { rule, excused: BTreeSet::new(), red: Vec::new() };
    told(&mut judge, &measured);
    stopped(&mut judge, &measured, latched);
    for id in &measured.violated {
        judge.object(id, || format!("violates {id}"));
    }
    moved(&mut judge, &measured, state);
    CellResult {
        cell: cell.to_string(),
        signal: cell.signal.to_owned(),
        way: cell.way.name().to_owned(),
        state: cell.state.to_owned(),
        rule: rule.to_string(),
        expected: rule.expect.to_string(),
        hazard: match rule.expect {
            Expectation::Undetectable { hazard } => hazard.to_owned(),
            _ => String::new(),
        },
        measured,
        excused: judge.excused.into_iter().map(str::to_owned).collect(),
        red: judge.red,
        replay,
    }
}

/// No fault without its code, no code without a fault.
fn told(judge: &mut Judge<'_>, measured: &Measured) {
    let mut expected = "";
    if let Expectation::Detected { fault, within_ms } = judge.rule.expect {
        expected = fault;
        match measured.faults.iter().find(|(name, _)| name == fault) {
            None => judge.red.push(format!("{fault} did not come")),
            Some((_, after)) if *after > within_ms => {
                judge.red.push(format!("{fault} came after {after} ms, {within_ms} ms are allowed"));
            }
            Some(_) => {}
        }
    }
    for (name, after) in measured.faults.iter().filter(|(name, _)| name != expected) {
        judge.object(name, || format!("{name} came after {after} ms, which was not expected"));
    }
}

fn stopped(judge: &mut Judge<'_>, measured: &Measured, latched: &[&str]) {
    match judge.rule.expect {
        Expectation::Detected { .. } => {}
        Expectation::Stopped { why, within_ms } => {
            match measured.reasons.iter().find(|(reason, _)| reason == why) {
                None => judge.red.push(format!("{why} never was the reason to stand")),
                Some((_, after)) if *after > within_ms => {
                    judge.red.push(format!("{why} came after {after} ms, {within_ms} ms are allowed"));
                }
                Some(_) => {}
            }
        }
        Expectation::Tolerated | Expectation::Undetectable { .. } => {
            for (permission, after) in &measured.lost {
                judge.object(STOPPED, || {
                    format!("{permission} went after {after} ms, a sound machine goes on")
                });
            }
        }
    }
    for (permission, after) in &measured.gained {
        judge.object(PERMITTED, || format!("{permission} came after {after} ms, a sound machine has none"));
    }
    let until_restart = measured.faults.iter().any(|(name, _)| latched.contains(&name.as_str()));
    if !until_restart {
        for permission in &measured.missing {
            judge.object(GONE, || format!("{permission} does not come back after the mending"));
        }
    }
}

fn moved(judge: &mut Judge<'_>, measured: &Measured, state: &State) {
    let allowed = state.allowed;
    let more = [
        (MOVED, measured.metres_more, allowed.metres, "m further than a sound machine"),
        (TURNED, measured.degrees_more, allowed.degrees, "° further round than a sound machine"),
        (STOPPED_LATE, measured.stop_metres, allowed.stop_metres, "m after permission went"),
        (STOPPED_LATE, measured.stop_degrees, allowed.stop_degrees, "° round after permission went"),
    ];
    for (name, moved, allowed, words) in more {
        if moved > allowed {
            let (moved, allowed) = (show_number(moved), show_number(allowed));
            judge.object(name, || format!("{moved} {words}, {allowed} allowed"));
        }
    }
    for (position, by) in &measured.limbs {
        judge.object(LIMB, || format!("{position} moved {} further", show_number(*by)));
    }
}

impl fmt::Display for Expectation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Detected { fault, within_ms } => write!(f, "{fault} within {within_ms} ms"),
            Self::Stopped { why, within_ms } => write!(f, "stops: {why} within {within_ms} ms"),
            Self::Tolerated => f.write_str("tolerated"),
            Self::Undetectable { .. } => f.write_str("undetectable by design"),
        }
    }
}
