//! Two failures at once.

use std::fmt;

#[cfg(any(feature = "hunt", test))]
use super::{
    Cell, Expectations, RuleMistake,
    expectation::{fits, unknown_names},
};
#[cfg(any(feature = "hunt", test))]
use crate::language::nearest;

/// What a machine declares for two failures at once, beyond what it declares for each: all rules that match add up. In a name
/// `*` and `|` stand for what they stand for in a [`Rule`](super::Rule); the order of the two does not matter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Together {
    /// Signal and way of the one.
    pub one: (&'static str, &'static str),
    /// Signal and way of the other.
    pub other: (&'static str, &'static str),
    /// States of the machine.
    pub state: &'static str,
    /// What may come along that neither brings alone: faults, requirements, [deviations](super::DEVIATIONS).
    pub also: &'static [&'static str],
    /// What can happen then, in words.
    pub hazard: &'static str,
}

impl fmt::Display for Together {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}+{}:{}@{}", self.one.0, self.one.1, self.other.0, self.other.1, self.state)
    }
}

impl Together {
    #[cfg(any(feature = "hunt", test))]
    pub(super) fn matches(&self, one: &Cell, other: &Cell) -> bool {
        fits(self.state, one.state) && fits_pair([self.one, self.other], one, other)
    }
}

/// Signal and way of each of two failures that are no pair: the plant breaks one thing by two names, and the later one stands.
pub type OneThing = [(&'static str, &'static str); 2];

#[cfg(any(feature = "hunt", test))]
fn fits_pair(patterns: OneThing, one: &Cell, other: &Cell) -> bool {
    let is =
        |pattern: (&str, &str), cell: &Cell| fits(pattern.0, cell.signal) && fits(pattern.1, cell.way.name());
    let [first, second] = patterns;
    (is(first, one) && is(second, other)) || (is(first, other) && is(second, one))
}

/// What is wrong with the rules for pairs: one that names no pair, an excuse for what nobody declares.
#[cfg(any(feature = "hunt", test))]
pub(super) fn mistakes(
    together: &[Together],
    cells: &[Cell],
    faults: &[&str],
    requirements: &[&str],
) -> Vec<RuleMistake> {
    let mut mistakes = Vec::new();
    for rule in together {
        mistakes.extend(unknown_names(&rule.to_string(), rule.also, faults, requirements));
        for pattern in [rule.one, rule.other] {
            let known = |cell: &Cell| {
                fits(pattern.0, cell.signal)
                    && fits(pattern.1, cell.way.name())
                    && fits(rule.state, cell.state)
            };
            if !cells.iter().any(known) {
                let near = nearest(pattern.0, cells.iter().map(|cell| cell.signal));
                let nearest = near.filter(|name| *name != pattern.0).map(str::to_owned);
                mistakes.push(RuleMistake::MatchesNothing { rule: rule.to_string(), nearest });
            }
        }
    }
    mistakes
}

/// The pairs of cells of one state and two signals, by their numbers, in the order of the first, then of the second.
#[cfg(any(feature = "hunt", test))]
pub(super) fn pairs(expectations: &Expectations, one_thing: &[OneThing]) -> Vec<(usize, usize)> {
    let cells: Vec<&Cell> = expectations.iter().map(|(cell, _)| cell).collect();
    let mut pairs = Vec::new();
    for (first, one) in cells.iter().enumerate() {
        let others = cells.iter().enumerate().skip(first + 1);
        let apart = |other: &Cell| !one_thing.iter().any(|patterns| fits_pair(*patterns, one, other));
        let fitting =
            others.filter(|(_, other)| other.state == one.state && other.place != one.place && apart(other));
        pairs.extend(fitting.map(|(second, _)| (first, second)));
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::campaign::{Expectation, Rule, cells};
    use crate::run::BreakInfo;
    use trunnion::declare::Wire;

    const BREAKS: &[BreakInfo] = &[
        BreakInfo::wired("seat", "", Wire::SwitchToSupply),
        BreakInfo::wired("bar", "", Wire::SwitchToSupply),
    ];

    #[test]
    fn a_pair_is_two_signals_in_one_state_and_comes_once() {
        let all = cells(BREAKS, &["at_rest", "driving"]);
        let rule = Rule { signal: "*", way: "*", state: "*", expect: Expectation::Tolerated, also: &[] };
        let expectations = Expectations::new(&all, &[rule], &[], &[]).unwrap();
        assert_eq!(pairs(&expectations, &[[("bar", "*"), ("se*", "*")]]), []);
        let pairs = pairs(&expectations, &[]);
        let ways = BREAKS[0].ways().count();
        assert_eq!(pairs.len(), 2 * ways * ways);
        for (one, other) in pairs {
            assert!(one < other && all[one].state == all[other].state);
            assert_ne!(all[one].signal, all[other].signal);
        }
    }

    #[test]
    fn the_order_of_the_two_does_not_matter() {
        let all = cells(BREAKS, &["at_rest"]);
        let find = |name: &str| all.iter().find(|cell| cell.to_string() == name).unwrap();
        let (seat, bar) = (find("seat:stuck@at_rest"), find("bar:open@at_rest"));
        let together = Together {
            one: ("bar", "open|stuck"),
            other: ("seat", "stuck"),
            state: "at_*",
            also: &[],
            hazard: "",
        };
        assert!(together.matches(seat, bar) && together.matches(bar, seat));
        assert!(!Together { state: "driving", ..together }.matches(seat, bar));
        assert!(!together.matches(bar, bar));
        assert_eq!(mistakes(&[together], &all, &[], &[]), []);
    }

    #[test]
    fn a_rule_for_no_pair_and_an_excuse_for_nothing_are_mistakes() {
        let all = cells(BREAKS, &["at_rest"]);
        let together =
            Together { one: ("baar", "*"), other: ("seat", "*"), state: "*", also: &["R-99"], hazard: "" };
        let told: Vec<String> =
            mistakes(&[together], &all, &[], &["R-01"]).iter().map(ToString::to_string).collect();
        assert_eq!(told.len(), 2);
        assert!(told[0].contains("`R-99`") && told[1].contains("did you mean `bar`?"), "{told:?}");
    }
}
