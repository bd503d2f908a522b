//! Whether what was seen of a cell is what was expected.

use std::collections::BTreeSet;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::expectation::fits;
use super::measured::{GONE, LIMB, MOVED, Measured, PERMITTED, STOPPED, STOPPED_LATE, TURNED, UNANSWERED};
use super::task::Task;
use super::{Expectation, Rule, State};
use crate::requirement::show_number;

/// What became of a cell, and whether that was expected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellResult {
    /// `signal:way@state`; of a pair `signal:way+signal:way@state`.
    pub cell: String,
    /// What breaks; of a pair both, with `+` between.
    pub signal: String,
    /// How; of a pair both.
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
    task: &'a Task,
    excused: BTreeSet<&'static str>,
    red: Vec<String>,
}

impl Judge<'_> {
    /// Something that the rule may excuse by its name.
    fn object(&mut self, name: &str, words: impl FnOnce() -> String) {
        match self.task.also.iter().find(|pattern| fits(pattern, name)) {
            Some(pattern) => {
                self.excused.insert(pattern);
            }
            None => self.red.push(words()),
        }
    }
}

/// Judges a cell or a pair. `latched` are the faults that only a restart clears.
pub(super) fn judged(
    task: &Task,
    state: &State,
    latched: &[&str],
    measured: Measured,
    replay: String,
) -> CellResult {
    let mut judge = Judge { task, excused: BTreeSet::new(), red: Vec::new() };
    answered(&mut judge, &measured);
    told(&mut judge, &measured);
    stopped(&mut judge, &measured, latched);
    for id in &measured.violated {
        judge.object(id, || format!("violates {id}"));
    }
    moved(&mut judge, &measured, state);
    CellResult {
        cell: task.name.clone(),
        signal: task.joined(|part| part.signal),
        way: task.joined(|part| part.way.name()),
        state: task.state.to_owned(),
        rule: task.rules.iter().map(Rule::to_string).collect::<Vec<_>>().join(" + "),
        expected: task.rules.iter().map(|rule| rule.expect.to_string()).collect::<Vec<_>>().join(" + "),
        hazard: task.hazards().collect::<Vec<_>>().join("; "),
        measured,
        excused: judge.excused.into_iter().map(str::to_owned).collect(),
        red: judge.red,
        replay,
    }
}

/// What the machine must do about what is broken, it does in time. Of two failures the answer to one is enough: a machine
/// that stands for the one has no occasion to notice the other.
fn answered(judge: &mut Judge<'_>, measured: &Measured) {
    let answers = judge.task.rules.iter().filter_map(|rule| answer(&rule.expect, measured));
    let wrong: Vec<Option<String>> = answers.collect();
    if wrong.iter().any(Option::is_none) {
        return;
    }
    for words in wrong.into_iter().flatten() {
        if judge.task.rules.len() > 1 {
            judge.object(UNANSWERED, || words);
        } else {
            judge.red.push(words);
        }
    }
}

/// What is wrong with the answer to a failure: `None` when nothing has to be done, `Some(None)` when it came in time.
fn answer(expect: &Expectation, measured: &Measured) -> Option<Option<String>> {
    let in_time = |name: &str, after: u32, within_ms: u32| {
        (after > within_ms).then(|| format!("{name} came after {after} ms, {within_ms} ms are allowed"))
    };
    match *expect {
        Expectation::Detected { fault, within_ms } => {
            Some(match measured.faults.iter().find(|(name, _)| fits(fault, name)) {
                None => Some(format!("{} did not come", or(fault))),
                Some((name, after)) => in_time(name, *after, within_ms),
            })
        }
        Expectation::Stopped { why, within_ms } => {
            Some(match measured.reasons.iter().find(|(reason, _)| reason == why) {
                None => Some(format!("{why} never was the reason to stand")),
                Some((_, after)) => in_time(why, *after, within_ms),
            })
        }
        Expectation::Tolerated | Expectation::Dormant { .. } | Expectation::Undetectable { .. } => None,
    }
}

/// No fault without its code, no code without a fault.
fn told(judge: &mut Judge<'_>, measured: &Measured) {
    let expected = |name: &str| {
        judge.task.rules.iter().any(|rule| match rule.expect {
            Expectation::Detected { fault, .. } => fits(fault, name),
            _ => false,
        })
    };
    let others: Vec<&(String, u32)> = measured.faults.iter().filter(|(name, _)| !expected(name)).collect();
    for (name, after) in others {
        judge.object(name, || format!("{name} came after {after} ms, which was not expected"));
    }
}

fn stopped(judge: &mut Judge<'_>, measured: &Measured, latched: &[&str]) {
    let goes_on =
        |rule: &Rule| !matches!(rule.expect, Expectation::Detected { .. } | Expectation::Stopped { .. });
    if judge.task.rules.iter().all(goes_on) {
        for (permission, after) in &measured.lost {
            judge.object(STOPPED, || format!("{permission} went after {after} ms, a sound machine goes on"));
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

/// Names of faults with `|` between them, in words.
fn or(faults: &str) -> String {
    faults.replace('|', " or ")
}

impl fmt::Display for Expectation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Detected { fault, within_ms } => write!(f, "{} within {within_ms} ms", or(fault)),
            Self::Stopped { why, within_ms } => write!(f, "stops: {why} within {within_ms} ms"),
            Self::Tolerated => f.write_str("tolerated"),
            Self::Dormant { shows } => write!(f, "dormant: shown by {shows}"),
            Self::Undetectable { .. } => f.write_str("undetectable by design"),
        }
    }
}
