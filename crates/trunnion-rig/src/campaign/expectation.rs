//! What a machine expects of each cell.

use std::fmt;

use super::{Cell, DEVIATIONS, RuleMistake};
use crate::language::nearest;

/// What a machine must do about a failure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Expectation {
    /// It says so.
    Detected {
        /// Name of the fault, or names with `|` between them of which one must come.
        fault: &'static str,
        /// Time from the last good value, ms.
        within_ms: u32,
    },
    /// It raises no fault, and gives this as the first reason why something is not permitted: what it read asks for that.
    Stopped {
        /// Choice of the group's `why_not` column.
        why: &'static str,
        /// Time from the last good value, ms.
        within_ms: u32,
    },
    /// It goes on as if nothing had happened, and no requirement is broken.
    Tolerated,
    /// Nothing uses what is broken in this state; elsewhere it shows.
    Dormant {
        /// The rule of cells that show it, as `signal:way@state`: one that says detected.
        shows: &'static str,
    },
    /// It cannot know.
    Undetectable {
        /// What can happen then, in words.
        hazard: &'static str,
    },
}

/// An expectation for all cells whose names match. In a name `*` stands for any letters, also none, and `|`
/// stands between names of which any will do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Signals.
    pub signal: &'static str,
    /// Ways to fail.
    pub way: &'static str,
    /// States of the machine.
    pub state: &'static str,
    /// What is expected there.
    pub expect: Expectation,
    /// What may come along: faults, requirements that the failure may break, and [deviations](super::DEVIATIONS). `*`
    /// stands for any letters. Each must be seen in some cell.
    pub also: &'static [&'static str],
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}@{}", self.signal, self.way, self.state)
    }
}

impl Rule {
    fn matches(&self, cell: &Cell) -> bool {
        fits(self.signal, cell.signal) && fits(self.way, cell.way.name()) && fits(self.state, cell.state)
    }

    /// Two for each whole name, one for a part of a name, none for a lone `*`.
    fn weight(&self) -> u8 {
        [self.signal, self.way, self.state].map(weight).iter().sum()
    }
}

fn weight(pattern: &str) -> u8 {
    match pattern {
        "*" => 0,
        part if part.contains(['*', '|']) => 1,
        _ => 2,
    }
}

pub(super) fn fits(pattern: &str, name: &str) -> bool {
    pattern.split('|').any(|pattern| fits_one(pattern, name))
}

fn fits_one(pattern: &str, name: &str) -> bool {
    match pattern.split_once('*') {
        None => pattern == name,
        Some((start, rest)) => name.strip_prefix(start).is_some_and(|tail| {
            tail.char_indices().map(|(at, _)| at).chain([tail.len()]).any(|at| fits_one(rest, &tail[at..]))
        }),
    }
}

/// The expectation of every cell of a campaign, in the order of the cells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expectations(Vec<(Cell, Rule)>);

impl Expectations {
    /// Lets the most specific rule decide each cell. All mistakes are told at once: a cell without a rule, a tie, a rule
    /// that matches or decides nothing, a fault that is not among `faults`, an excuse for what is neither fault nor among
    /// `requirements` nor a deviation.
    pub fn new(
        cells: &[Cell],
        rules: &[Rule],
        faults: &[&str],
        requirements: &[&str],
    ) -> Result<Self, Vec<RuleMistake>> {
        let mut mistakes = Vec::new();
        let mut decides = vec![false; rules.len()];
        let mut decided = Vec::with_capacity(cells.len());
        for cell in cells {
            match most_specific(cell, rules) {
                Ok(place) => {
                    decides[place] = true;
                    decided.push((*cell, rules[place]));
                }
                Err(mistake) => mistakes.push(mistake),
            }
        }
        // A rule in a tie has not decided for want of a clear word, which is told already.
        let tied = |rule: &Rule| {
            let name = rule.to_string();
            mistakes.iter().any(|mistake| {
                matches!(mistake, RuleMistake::Tie { first, second, .. } if *first == name || *second == name)
            })
        };
        let mut idle = Vec::new();
        for (rule, decides) in rules.iter().zip(decides) {
            idle.extend(unknown_fault(rule, faults));
            idle.extend(unknown_excuses(rule, faults, requirements));
            idle.extend(never_shown(rule, rules));
            if !cells.iter().any(|cell| rule.matches(cell)) {
                let nearest = nearest(rule.signal, cells.iter().map(|cell| cell.signal));
                let nearest = nearest.filter(|name| *name != rule.signal).map(str::to_owned);
                idle.push(RuleMistake::MatchesNothing { rule: rule.to_string(), nearest });
            } else if !decides && !tied(rule) {
                idle.push(RuleMistake::DecidesNothing { rule: rule.to_string() });
            }
        }
        mistakes.extend(idle);
        if mistakes.is_empty() { Ok(Self(decided)) } else { Err(mistakes) }
    }

    /// Every cell with the rule that says what is expected of it, in the order of the cells.
    pub fn iter(&self) -> impl Iterator<Item = &(Cell, Rule)> {
        self.0.iter()
    }

    /// Likewise, by the number of the cell.
    #[cfg(feature = "hunt")]
    pub(super) fn get(&self, number: usize) -> Option<&(Cell, Rule)> {
        self.0.get(number)
    }

    /// Patterns of the faults that the failure of a cell may bring in any state.
    #[cfg(feature = "hunt")]
    pub(super) fn faults_anywhere(&self, cell: &Cell, faults: &[&str]) -> Vec<&'static str> {
        let mut patterns = Vec::new();
        let same = self.0.iter().filter(|(other, _)| other.place == cell.place && other.way == cell.way);
        for (_, rule) in same {
            let expected = match rule.expect {
                Expectation::Detected { fault, .. } => Some(fault),
                _ => None,
            };
            patterns.extend(expected.into_iter().chain(rule.also.iter().copied()));
        }
        patterns.retain(|pattern| faults.iter().any(|fault| fits(pattern, fault)));
        patterns.sort_unstable();
        patterns.dedup();
        patterns
    }

    #[cfg(feature = "hunt")]
    pub(super) fn len(&self) -> usize {
        self.0.len()
    }
}

fn most_specific(cell: &Cell, rules: &[Rule]) -> Result<usize, RuleMistake> {
    let matching = || rules.iter().enumerate().filter(|(_, rule)| rule.matches(cell));
    let Some(heaviest) = matching().map(|(_, rule)| rule.weight()).max() else {
        return Err(RuleMistake::Undeclared { cell: cell.to_string() });
    };
    let mut best = matching().filter(|(_, rule)| rule.weight() == heaviest);
    match (best.next(), best.next()) {
        (Some((_, first)), Some((_, second))) => Err(RuleMistake::Tie {
            first: first.to_string(),
            second: second.to_string(),
            cell: cell.to_string(),
        }),
        (Some((place, _)), None) => Ok(place),
        (None, _) => Err(RuleMistake::Undeclared { cell: cell.to_string() }),
    }
}

fn unknown_fault(rule: &Rule, faults: &[&str]) -> Option<RuleMistake> {
    let Expectation::Detected { fault, .. } = rule.expect else { return None };
    let fault = fault.split('|').find(|name| !faults.contains(name))?;
    Some(RuleMistake::UnknownFault {
        rule: rule.to_string(),
        fault: fault.to_owned(),
        nearest: nearest(fault, faults.iter().copied()).map(str::to_owned),
    })
}

/// Something dormant must be shown by cells that are run.
fn never_shown(rule: &Rule, rules: &[Rule]) -> Option<RuleMistake> {
    let Expectation::Dormant { shows } = rule.expect else { return None };
    let shown =
        |other: &Rule| other.to_string() == shows && matches!(other.expect, Expectation::Detected { .. });
    (!rules.iter().any(shown))
        .then(|| RuleMistake::NeverShown { rule: rule.to_string(), shows: shows.to_owned() })
}

fn unknown_excuses(rule: &Rule, faults: &[&str], requirements: &[&str]) -> Vec<RuleMistake> {
    unknown_names(&rule.to_string(), rule.also, faults, requirements)
}

/// What of `also` is neither fault nor requirement nor deviation.
pub(super) fn unknown_names(
    rule: &str,
    also: &[&str],
    faults: &[&str],
    requirements: &[&str],
) -> Vec<RuleMistake> {
    let known = || [faults, requirements, DEVIATIONS].into_iter().flatten().copied();
    let unknown = also.iter().filter(|pattern| !known().any(|name| fits(pattern, name)));
    let mistake = |pattern: &&str| RuleMistake::UnknownExcuse {
        rule: rule.to_owned(),
        excuse: (*pattern).to_owned(),
        nearest: nearest(pattern, known()).map(str::to_owned),
    };
    unknown.map(mistake).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::campaign::cells;
    use crate::run::BreakInfo;
    use trunnion::declare::{Failure, Wire};

    const BREAKS: &[BreakInfo] = &[
        BreakInfo::wired("left_lever", "", Wire::Frame),
        BreakInfo::wired("seat", "", Wire::SwitchToSupply),
    ];
    const FAULTS: &[&str] = &["LeftLeverLost", "SeatStuck"];
    const LOST: Expectation = Expectation::Detected { fault: "LeftLeverLost", within_ms: 300 };

    const fn rule(signal: &'static str, way: &'static str, state: &'static str, expect: Expectation) -> Rule {
        Rule { signal, way, state, expect, also: &[] }
    }

    fn all() -> Vec<Cell> {
        cells(BREAKS, &["at_rest", "driving"])
    }

    fn mistakes(rules: &[Rule]) -> Vec<String> {
        let error = Expectations::new(&all(), rules, FAULTS, &["R-01"]).unwrap_err();
        error.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn the_most_specific_rule_decides_each_cell() {
        let rules = [rule("left_lever", "lost", "*", LOST), rule("*", "*", "*", Expectation::Tolerated)];
        let expectations = Expectations::new(&all(), &rules, FAULTS, &["R-01"]).unwrap();
        assert_eq!(expectations.iter().count(), all().len());
        for (cell, expected) in expectations.iter() {
            let lost = cell.signal == "left_lever" && cell.way == Failure::Lost.into();
            assert_eq!(expected.expect, if lost { LOST } else { Expectation::Tolerated }, "{cell}");
        }
    }

    #[test]
    fn a_cell_without_a_rule_is_named() {
        let told = mistakes(&[rule("*", "*", "driving", Expectation::Tolerated)]);
        assert_eq!(told.len(), all().len() / 2);
        assert!(told.iter().all(|line| line.contains("@at_rest")), "{told:?}");
    }

    #[test]
    fn a_rule_that_matches_nothing_names_what_was_perhaps_meant() {
        let everything = rule("*", "*", "*", Expectation::Tolerated);
        let told = mistakes(&[everything, rule("left_levre", "lost", "*", LOST)]);
        assert_eq!(
            told,
            [
                "rule `left_levre:lost@*` matches no cell (did you mean `left_lever`?): correct a name or take the rule away"
            ]
        );
    }

    #[test]
    fn equally_specific_rules_and_rules_without_a_cell_left_are_mistakes() {
        let everything = rule("*", "*", "*", Expectation::Tolerated);
        let tie = mistakes(&[
            everything,
            rule("seat", "open", "*", Expectation::Tolerated),
            rule("seat", "*", "driving", Expectation::Tolerated),
        ]);
        assert_eq!(tie.len(), 1);
        assert!(tie[0].contains("equally specific at seat:open@driving"), "{tie:?}");
        let idle = mistakes(&[
            everything,
            rule("seat", "*", "*", Expectation::Tolerated),
            rule("se*", "*", "*", Expectation::Tolerated),
        ]);
        assert_eq!(idle.len(), 1);
        assert!(idle[0].contains("`se*:*@*` decides no cell"), "{idle:?}");
    }

    #[test]
    fn an_expected_fault_must_be_declared() {
        let unknown = Expectation::Detected { fault: "LeftLeverLots", within_ms: 300 };
        let told = mistakes(&[rule("*", "*", "*", unknown)]);
        assert_eq!(told.len(), 1);
        assert!(told[0].contains("did you mean `LeftLeverLost`?"), "{told:?}");
    }

    #[test]
    fn what_is_dormant_is_shown_by_a_rule_that_says_detected() {
        let everything = rule("*", "*", "*", Expectation::Tolerated);
        let shown = rule("left_lever", "lost", "*", LOST);
        let dormant = |shows| rule("left_lever", "frozen", "*", Expectation::Dormant { shows });
        let told = mistakes(&[everything, shown, dormant("left_lever:frozen@*")]);
        assert_eq!(told.len(), 1);
        assert!(told[0].contains("`left_lever:frozen@*`, which is no rule that says detected"), "{told:?}");
        let rules = [everything, shown, dormant("left_lever:lost@*")];
        assert!(Expectations::new(&all(), &rules, FAULTS, &["R-01"]).is_ok());
    }

    #[test]
    fn an_excuse_must_be_a_fault_a_requirement_or_a_deviation() {
        let also: &[&str] = &["R-01", "Left*", "stopped", "R-10"];
        let told = mistakes(&[Rule { also, ..rule("*", "*", "*", Expectation::Tolerated) }]);
        assert_eq!(told.len(), 1);
        assert!(told[0].contains("`R-10`") && told[0].contains("did you mean `R-01`?"), "{told:?}");
    }

    #[test]
    fn a_star_stands_for_any_letters_and_a_bar_between_names() {
        assert!(fits("driving|curv*", "driving") && fits("driving|curv*", "curving"));
        assert!(!fits("driving|curv*", "reversing") && weight("a|b") == 1);
        assert!(fits("*_lever", "left_lever") && fits("left*", "left") && fits("l*_*r", "left_lever"));
        assert!(!fits("*_lever", "left_lever_basic") && !fits("left", "left_lever"));
    }
}
