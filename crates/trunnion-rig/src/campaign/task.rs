//! What is broken together, and what is expected then.

use super::{Cell, Expectation, Rule, Together};
use crate::run::Way;

/// A signal that breaks, and how.
#[derive(Debug, Clone, Copy)]
pub(super) struct Part {
    pub(super) place: u16,
    pub(super) signal: &'static str,
    pub(super) way: Way,
}

/// A cell or a pair to be run.
#[derive(Debug, Clone)]
pub(super) struct Task {
    pub(super) name: String,
    pub(super) state: &'static str,
    pub(super) parts: Vec<Part>,
    /// One for each part.
    pub(super) rules: Vec<Rule>,
    /// What may come along.
    pub(super) also: Vec<&'static str>,
    /// What can happen only together.
    together: Vec<&'static str>,
}

impl Task {
    /// One failure.
    pub(super) fn single(cell: &Cell, rule: &Rule) -> Self {
        Self {
            name: cell.to_string(),
            state: cell.state,
            parts: vec![Part { place: cell.place, signal: cell.signal, way: cell.way }],
            rules: vec![*rule],
            also: rule.also.to_vec(),
            together: Vec::new(),
        }
    }

    /// Two failures at once: what may come along with either may come along with both, and what the machine declares for
    /// the two together. `elsewhere` are faults of either in other states: the one may bring the machine into the state in
    /// which the other shows.
    pub(super) fn pair(
        one: &(Cell, Rule),
        other: &(Cell, Rule),
        elsewhere: &[&'static str],
        together: &[Together],
    ) -> Self {
        let mut task = Self::single(&one.0, &one.1);
        let more = Self::single(&other.0, &other.1);
        task.name = pair_name(&one.0, &other.0);
        task.parts.extend(more.parts);
        task.rules.extend(more.rules);
        task.also.extend(more.also);
        task.also.extend(elsewhere);
        for rule in together.iter().filter(|rule| rule.matches(&one.0, &other.0)) {
            task.also.extend(rule.also);
            task.together.push(rule.hazard);
        }
        task
    }

    /// Of each part something, with `+` between.
    pub(super) fn joined(&self, what: impl Fn(&Part) -> &'static str) -> String {
        self.parts.iter().map(what).collect::<Vec<_>>().join("+")
    }

    /// What can happen that is not detected.
    pub(super) fn hazards(&self) -> impl Iterator<Item = &'static str> + '_ {
        let single = self.rules.iter().filter_map(|rule| match rule.expect {
            Expectation::Undetectable { hazard } => Some(hazard),
            _ => None,
        });
        single.chain(self.together.iter().copied())
    }
}

/// `signal:way+signal:way@state`.
pub(super) fn pair_name(one: &Cell, other: &Cell) -> String {
    format!("{}:{}+{}:{}@{}", one.signal, one.way.name(), other.signal, other.way.name(), one.state)
}
