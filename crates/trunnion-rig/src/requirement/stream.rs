use std::collections::VecDeque;

use super::condition::Condition;
use super::robustness::{Cause, Robustness};
use super::sliding::{Extreme, UntilWindow};

/// A formula in negation normal form, flattened: every node stands behind its operands and has one reader.
///
/// Each node turns the rows of values of its operands into a row of its own. A node that looks ahead gives its
/// value for a tick as soon as its window is full, so that values come late by its horizon; a node that looks
/// ahead without bound gives all its values when the run ends.
#[derive(Debug, Clone, Default)]
pub(crate) struct Program {
    pub(crate) nodes: Vec<Node>,
    /// The last value of every node that gives one at each row.
    now: Vec<Robustness>,
    /// Values that are kept until their reader takes them.
    values: Vec<VecDeque<Robustness>>,
    rows: u32,
}

/// One operator or condition, and what it says in words.
#[derive(Debug, Clone)]
pub(crate) struct Node {
    pub(crate) operator: Operator,
    pub(crate) operands: Vec<usize>,
    pub(crate) said: Said,
    /// It gives one value at each row: neither it nor what it is made of looks ahead.
    prompt: bool,
    /// Its values are kept until they are taken; a reader that is prompt itself takes them from `now`.
    kept: bool,
}

/// What was written, of which a node is the meaning, or with `negated` its opposite.
#[derive(Debug, Clone)]
pub(crate) struct Said {
    pub(crate) text: String,
    pub(crate) negated: bool,
}

/// What a node does with its operands. `least` picks the worst, else the best.
#[derive(Debug, Clone)]
pub(crate) enum Operator {
    Condition(Condition),
    /// All (`least`) or any of the operands at the same tick.
    Join {
        least: bool,
    },
    /// The operand one tick ago; `memory` before the first.
    Previous {
        memory: Robustness,
    },
    /// The operand so many ticks later.
    Ahead {
        ticks: u32,
        skipped: u32,
    },
    /// The extreme over this tick and so many after it.
    Future {
        least: bool,
        ticks: u32,
        taken: u32,
        given: u32,
        window: Extreme,
    },
    /// The extreme over this tick and so many before it; `before` is the worth of ticks before the first.
    Past {
        least: bool,
        ticks: u32,
        before: Robustness,
        taken: u32,
        window: Extreme,
    },
    /// The extreme over all ticks up to this one.
    SoFar {
        least: bool,
        extreme: Robustness,
    },
    /// The extreme over this tick and all after it.
    Rest {
        least: bool,
    },
    /// `a until b` within so many ticks; `dual` for its negation.
    Until {
        dual: bool,
        ticks: u32,
        window: UntilWindow,
    },
    /// `a until b` up to the end of the run.
    UntilEnd {
        dual: bool,
    },
    /// `a since b`, with the extreme of b over the bound when there is one.
    Since {
        dual: bool,
        ticks: Option<u32>,
        taken: u32,
        window: Extreme,
        value: Robustness,
    },
}

/// What the ticks behind the end of the run count for when the run is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Beyond {
    /// The worst that could come: what holds even so is held.
    Worst,
    /// The best that could come: what fails even so is violated.
    Best,
    /// Nothing: windows end with the run.
    Absent,
}

impl Beyond {
    /// The worth of a tick behind the end in a window of the given direction.
    pub(crate) fn worth(self, least: bool) -> Robustness {
        match self {
            Self::Worst => Robustness::FALSE,
            Self::Best => Robustness::TRUE,
            Self::Absent => Robustness::certain(least),
        }
    }
}

impl Program {
    pub(crate) fn add(&mut self, operator: Operator, operands: Vec<usize>, said: Said) -> usize {
        let prompt = operator.is_prompt() && operands.iter().all(|operand| self.nodes[*operand].prompt);
        for operand in &operands {
            self.nodes[*operand].kept = !prompt;
        }
        self.nodes.push(Node { operator, operands, said, prompt, kept: true });
        self.now.push(Robustness::FALSE);
        self.values.push(VecDeque::new());
        self.nodes.len() - 1
    }

    /// Number of rows seen.
    pub(crate) fn rows(&self) -> u32 {
        self.rows
    }

    /// Takes a row; `see` is shown every new value of every node.
    pub(crate) fn push(&mut self, row: &[f64], mut see: impl FnMut(usize, Robustness)) {
        let tick = self.rows;
        self.rows += 1;
        for (place, node) in self.nodes.iter_mut().enumerate() {
            let (operands, own) = self.values.split_at_mut(place);
            if !node.prompt {
                let mut give = |value| {
                    see(place, value);
                    own[0].push_back(value);
                };
                node.operator.take(&node.operands, operands, &mut give);
                continue;
            }
            let value = if let Operator::Condition(condition) = &mut node.operator {
                let cause = Cause { atom: u16::try_from(place).unwrap_or(u16::MAX), tick };
                condition.next(row, cause)
            } else {
                node.operator.prompt(&node.operands, &self.now)
            };
            see(place, value);
            self.now[place] = value;
            if node.kept {
                own[0].push_back(value);
            }
        }
    }

    /// Ends the run: every node gives its values up to the last row.
    pub(crate) fn finish(&mut self, beyond: Beyond, mut see: impl FnMut(usize, Robustness)) {
        let rows = self.rows;
        for (place, node) in self.nodes.iter_mut().enumerate() {
            let (operands, own) = self.values.split_at_mut(place);
            let mut give = |value| {
                see(place, value);
                own[0].push_back(value);
            };
            node.operator.take(&node.operands, operands, &mut give);
            node.operator.end(&node.operands, operands, rows, beyond, &mut give);
        }
    }

    /// Takes the next value of a node that no other node reads.
    pub(crate) fn next(&mut self, place: usize) -> Option<Robustness> {
        self.values.get_mut(place)?.pop_front()
    }
}

impl Operator {
    /// Whether it gives a value at each row when its operands do.
    fn is_prompt(&self) -> bool {
        match self {
            Self::Condition(_)
            | Self::Join { .. }
            | Self::Previous { .. }
            | Self::Past { .. }
            | Self::SoFar { .. }
            | Self::Since { .. } => true,
            Self::Ahead { .. }
            | Self::Future { .. }
            | Self::Rest { .. }
            | Self::Until { .. }
            | Self::UntilEnd { .. } => false,
        }
    }

    /// The value at this row, from those of the operands; of an operator that is prompt.
    fn prompt(&mut self, operands: &[usize], now: &[Robustness]) -> Robustness {
        if let Self::Join { least } = self {
            let parts = operands.iter().map(|operand| now[*operand]);
            return parts
                .reduce(|value, part| value.pick(part, *least))
                .unwrap_or(Robustness::certain(*least));
        }
        let mut given = Robustness::FALSE;
        let mut give = |value| given = value;
        match operands {
            [hold, reach] => self.take_pair(now[*hold], now[*reach], &mut give),
            [only] => self.take_one(now[*only], &mut give),
            _ => {}
        }
        given
    }

    /// Takes what the operands have given and gives what follows from it.
    fn take(
        &mut self,
        operands: &[usize],
        values: &mut [VecDeque<Robustness>],
        give: &mut impl FnMut(Robustness),
    ) {
        match self {
            Self::Condition(_) | Self::Rest { .. } | Self::UntilEnd { .. } => {}
            Self::Join { least } => {
                while operands.iter().all(|operand| !values[*operand].is_empty()) {
                    let parts = operands.iter().filter_map(|operand| values[*operand].pop_front());
                    let joined = parts.reduce(|value, part| value.pick(part, *least));
                    give(joined.unwrap_or(Robustness::certain(*least)));
                }
            }
            Self::Until { .. } | Self::Since { .. } => {
                while let Some((hold, reach)) = pair(operands, values) {
                    self.take_pair(hold, reach, give);
                }
            }
            Self::Previous { .. }
            | Self::Ahead { .. }
            | Self::Future { .. }
            | Self::Past { .. }
            | Self::SoFar { .. } => {
                while let Some(value) = values[operands[0]].pop_front() {
                    self.take_one(value, give);
                }
            }
        }
    }

    /// Takes the next value of the only operand.
    fn take_one(&mut self, value: Robustness, give: &mut impl FnMut(Robustness)) {
        match self {
            Self::Previous { memory } => give(std::mem::replace(memory, value)),
            Self::Ahead { ticks, skipped } if *skipped < *ticks => *skipped += 1,
            Self::Ahead { .. } => give(value),
            Self::Future { ticks, taken, given, window, .. } => {
                window.push(*taken, value);
                *taken += 1;
                if *taken > *ticks {
                    window.forget_before(*given);
                    give(window.value());
                    *given += 1;
                }
            }
            Self::Past { least, ticks, before, taken, window } => {
                window.push(*taken, value);
                window.forget_before(taken.saturating_sub(*ticks));
                let whole = *taken >= *ticks;
                give(if whole { window.value() } else { window.value().pick(*before, *least) });
                *taken += 1;
            }
            Self::SoFar { least, extreme } => {
                *extreme = extreme.pick(value, *least);
                give(*extreme);
            }
            _ => {}
        }
    }

    /// Takes the next values of both operands: what has to hold, and what has to be reached.
    fn take_pair(&mut self, hold: Robustness, reach: Robustness, give: &mut impl FnMut(Robustness)) {
        match self {
            Self::Until { dual, ticks, window } => {
                window.push(hold, reach);
                if window.len() > *ticks as usize {
                    give(window.value(Robustness::certain(*dual)));
                    window.pop();
                }
            }
            Self::Since { dual, ticks, taken, window, value } => {
                *value = reach.pick(hold.pick(*value, !*dual), *dual);
                // Bounded since = unbounded since, and the second operand within the bound.
                if let Some(ticks) = ticks {
                    window.push(*taken, reach);
                    window.forget_before(taken.saturating_sub(*ticks));
                    *taken += 1;
                    give(window.value().pick(*value, !*dual));
                } else {
                    give(*value);
                }
            }
            _ => {}
        }
    }

    /// Gives what is still owed when the run of `rows` rows is over.
    fn end(
        &mut self,
        operands: &[usize],
        values: &mut [VecDeque<Robustness>],
        rows: u32,
        beyond: Beyond,
        give: &mut impl FnMut(Robustness),
    ) {
        match self {
            Self::Ahead { ticks, .. } => {
                let owed = rows.min(*ticks);
                let worth = beyond.worth(true);
                (0..owed).for_each(|_| give(worth));
            }
            Self::Future { least, taken, given, window, .. } => {
                window.push(*taken, beyond.worth(*least));
                while *given < rows {
                    window.forget_before(*given);
                    give(window.value());
                    *given += 1;
                }
            }
            Self::Until { dual, window, .. } => {
                let worth = beyond.worth(*dual);
                while window.len() > 0 {
                    give(window.value(worth));
                    window.pop();
                }
            }
            Self::Rest { least } => {
                let mut extreme = Robustness::certain(*least);
                let row = std::mem::take(&mut values[operands[0]]);
                let backwards = row.into_iter().rev().map(|value| {
                    extreme = value.pick(extreme, *least);
                    extreme
                });
                give_reversed(backwards.collect(), give);
            }
            Self::UntilEnd { dual } => {
                let mut value = Robustness::certain(*dual);
                let hold = std::mem::take(&mut values[operands[0]]);
                let reach = std::mem::take(&mut values[operands[1]]);
                let backwards = hold.into_iter().zip(reach).rev().map(|(hold, reach)| {
                    value = reach.pick(hold.pick(value, !*dual), *dual);
                    value
                });
                give_reversed(backwards.collect(), give);
            }
            Self::Condition(_) | Self::Join { .. } | Self::Previous { .. } => {}
            Self::Past { .. } | Self::SoFar { .. } | Self::Since { .. } => {}
        }
    }
}

/// The next values of both operands, when both are there.
fn pair(operands: &[usize], values: &mut [VecDeque<Robustness>]) -> Option<(Robustness, Robustness)> {
    let [first, second] = [operands[0], operands[1]];
    if values[first].is_empty() || values[second].is_empty() {
        return None;
    }
    Some((values[first].pop_front()?, values[second].pop_front()?))
}

fn give_reversed(backwards: Vec<Robustness>, give: &mut impl FnMut(Robustness)) {
    backwards.into_iter().rev().for_each(give);
}
