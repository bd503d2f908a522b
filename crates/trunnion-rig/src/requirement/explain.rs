use serde::Serialize;

use super::bind::Bound;
use super::robustness::Robustness;
use super::stream::{Beyond, Node, Operator, Program};
use super::verdict::Claim;
use super::vocabulary::{Vocabulary, show_number};

/// Why a run was judged as it was.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Explanation {
    /// One or two sentences.
    pub text: String,
    /// The conditions that decided, in the order of the formula.
    pub evidence: Vec<Evidence>,
}

/// A condition of the formula at a tick of the run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Evidence {
    /// Time of the tick, in seconds from the beginning of the run.
    pub at: f64,
    /// The condition as written.
    pub condition: String,
    /// Whether it holds there.
    pub holds: bool,
    /// The signals that it reads, with their values there.
    pub values: Vec<(String, String)>,
}

/// Conditions beyond this are left out: a reader starts with the first.
const MOST_EVIDENCE: usize = 6;

/// The values of every node at every tick of a run that is over, to look for what decided.
pub(crate) struct Explorer<'a, Row> {
    bound: &'a Bound,
    vocabulary: &'a Vocabulary,
    values: Vec<Vec<Robustness>>,
    claim: Claim,
    rows: u32,
    beyond: Beyond,
    row: Row,
}

/// What has been found so far.
#[derive(Default)]
struct Found {
    sentences: Vec<String>,
    evidence: Vec<Evidence>,
    undecided: Vec<String>,
}

/// Where a run that was held came closest to a violation; nothing when a yes/no condition decided.
pub(crate) fn closest(
    bound: &Bound,
    vocabulary: &Vocabulary,
    value: Robustness,
    row: impl Fn(u32) -> Vec<f64>,
) -> Explanation {
    let Some(cause) = value.cause.filter(|_| value.margin.is_finite()) else {
        return Explanation::default();
    };
    let node = &bound.program.nodes[usize::from(cause.atom)];
    let holds = value.holds != node.said.negated;
    let evidence = Evidence::new(node, cause.tick, holds, vocabulary, &row(cause.tick));
    Explanation { text: format!("closest at {}", evidence.sentence()), evidence: vec![evidence] }
}

impl<'a, Row: Fn(u32) -> Vec<f64>> Explorer<'a, Row> {
    pub(crate) fn new(
        bound: &'a Bound,
        vocabulary: &'a Vocabulary,
        rows: u32,
        beyond: Beyond,
        row: Row,
    ) -> Self {
        let mut program = bound.program.clone();
        let mut claim = bound.claim.clone();
        let mut values = vec![Vec::new(); program.nodes.len()];
        for tick in 0..rows {
            program.push(&row(tick), |node, value| values[node].push(value));
            claim.gather(&mut program);
        }
        program.finish(beyond, |node, value| values[node].push(value));
        claim.gather(&mut program);
        Self { bound, vocabulary, values, claim, rows, beyond, row }
    }

    /// Why the run fails, or, with the worst beyond its end, could still have failed.
    pub(crate) fn failure(&self) -> Explanation {
        let mut found = Found::default();
        self.claim(&self.claim, &mut found);
        found.evidence.truncate(MOST_EVIDENCE);
        let mut parts = found.sentences;
        parts.extend(found.evidence.iter().map(Evidence::sentence));
        if self.beyond == Beyond::Worst {
            found.undecided.dedup();
            parts.extend(found.undecided);
        }
        Explanation { text: parts.join("; "), evidence: found.evidence }
    }

    fn program(&self) -> &Program {
        &self.bound.program
    }

    fn holds(&self, node: usize, tick: u32) -> bool {
        self.values[node].get(tick as usize).is_some_and(|value| value.holds)
    }

    fn time(&self, tick: u32) -> String {
        show_time(seconds(tick, self.vocabulary))
    }

    fn claim(&self, claim: &Claim, found: &mut Found) {
        match claim {
            Claim::Join { least, parts } => {
                let fails = |part: &&Claim| !part.outcome(self.rows, self.beyond).value.holds;
                let failing = parts.iter().filter(fails);
                let count = if *least { 1 } else { parts.len() };
                failing.take(count).for_each(|part| self.claim(part, found));
            }
            Claim::Over { least: true, node, first, last, .. } => {
                let last = last.unwrap_or(self.rows.saturating_sub(1));
                let until = last.min(self.rows.saturating_sub(1));
                match (*first..=until).find(|tick| *tick < self.rows && !self.holds(*node, *tick)) {
                    Some(tick) => self.fails_at(*node, tick, found),
                    None => self.ends_before(*node, last.max(*first), found),
                }
            }
            Claim::Over { least: false, node, first, last, .. } => {
                let end = last.unwrap_or(self.rows.saturating_sub(1));
                let until = end.min(self.rows.saturating_sub(1));
                if last.is_some_and(|last| last >= self.rows) || *first >= self.rows {
                    self.ends_before(*node, end, found);
                }
                if *first <= until && *first < self.rows {
                    let (text, verb) = self.said(*node, "holds");
                    found.sentences.push(format!(
                        "from {} to {} `{text}` never {verb}",
                        self.time(*first),
                        self.time(until)
                    ));
                    self.node(*node, self.nearest(*node, *first, until), found);
                }
            }
            Claim::Pick { node, at, .. } => {
                if *at >= self.rows {
                    self.ends_before(*node, *at, found);
                } else {
                    self.fails_at(*node, *at, found);
                }
            }
        }
    }

    /// What a node says, and the verb for its being true, or with "fails" its being false.
    fn said(&self, node: usize, verb: &'static str) -> (&str, &'static str) {
        let said = &self.program().nodes[node].said;
        let verb = match (said.negated, verb) {
            (false, verb) => verb,
            (true, "fails") => "holds",
            (true, _) => "fails",
        };
        (&said.text, verb)
    }

    fn fails_at(&self, node: usize, tick: u32, found: &mut Found) {
        if !matches!(self.program().nodes[node].operator, Operator::Condition(_)) {
            let (text, verb) = self.said(node, "fails");
            let verb = if self.beyond == Beyond::Worst { "is not decided" } else { verb };
            found.sentences.push(format!("at {} `{text}` {verb}", self.time(tick)));
        }
        self.node(node, tick, found);
    }

    fn ends_before(&self, node: usize, tick: u32, found: &mut Found) {
        let text = &self.program().nodes[node].said.text;
        found.undecided.push(format!(
            "the run ends at {}, before `{text}` is decided at {}: make it longer",
            self.time(self.rows),
            self.time(tick)
        ));
    }

    /// The tick at which a node that never holds comes nearest to it.
    fn nearest(&self, node: usize, first: u32, last: u32) -> u32 {
        let better = |one: u32, other: u32| {
            let (a, b) = (self.values[node][one as usize], self.values[node][other as usize]);
            if a.outlasts(&b, false) { one } else { other }
        };
        (first..=last.min(self.rows.saturating_sub(1))).reduce(better).unwrap_or(first)
    }

    /// Finds why a node is false at a tick of the run.
    fn node(&self, node: usize, tick: u32, found: &mut Found) {
        let operands = &self.program().nodes[node].operands;
        let end = self.rows.saturating_sub(1);
        match &self.program().nodes[node].operator {
            Operator::Condition(_) => self.condition(node, tick, found),
            Operator::Join { least } => {
                let failing = operands.iter().filter(|operand| !self.holds(**operand, tick));
                let count = if *least { 1 } else { operands.len() };
                failing.take(count).for_each(|operand| self.node(*operand, tick, found));
            }
            Operator::Previous { .. } => match tick.checked_sub(1) {
                Some(before) => self.node(operands[0], before, found),
                None => found.sentences.push("at the first tick nothing has changed yet".to_owned()),
            },
            Operator::Ahead { ticks, .. } => match tick.checked_add(*ticks).filter(|later| *later <= end) {
                Some(later) => self.node(operands[0], later, found),
                None => self.ends_before(operands[0], tick.saturating_add(*ticks), found),
            },
            Operator::Future { least, ticks, .. } => {
                self.window(operands[0], *least, tick, tick.saturating_add(*ticks), found);
            }
            Operator::Rest { least } => self.window(operands[0], *least, tick, end, found),
            Operator::Past { least, ticks, .. } => {
                let first = tick.saturating_sub(*ticks);
                let held = (first..=tick).all(|at| self.holds(operands[0], at));
                if *least && held {
                    let text = &self.program().nodes[node].said.text;
                    found.sentences.push(format!("at {} the run is too young for `{text}`", self.time(tick)));
                } else {
                    self.window(operands[0], *least, first, tick, found);
                }
            }
            Operator::SoFar { least, .. } => self.window(operands[0], *least, 0, tick, found),
            Operator::Until { dual, ticks, .. } => {
                self.until(operands, *dual, tick, tick.saturating_add(*ticks), found);
            }
            Operator::UntilEnd { dual } => self.until(operands, *dual, tick, end, found),
            Operator::Since { dual, .. } => self.since(operands, *dual, tick, found),
        }
    }

    /// Finds why an extreme over a window is false.
    fn window(&self, node: usize, least: bool, first: u32, last: u32, found: &mut Found) {
        let until = last.min(self.rows.saturating_sub(1));
        let failing = if least {
            (first..=until).find(|tick| !self.holds(node, *tick))
        } else {
            Some(self.nearest(node, first, until))
        };
        if let Some(tick) = failing {
            self.node(node, tick, found);
        }
        if last > until && (failing.is_none() || !least) {
            self.ends_before(node, last, found);
        }
    }

    /// Finds why `hold until reach` is false: hold ends before reach begins. Its negation is false because
    /// reach begins in time.
    fn until(&self, operands: &[usize], dual: bool, first: u32, last: u32, found: &mut Found) {
        let until = last.min(self.rows.saturating_sub(1));
        let [hold, reach] = [operands[0], operands[1]];
        if dual {
            self.window(reach, true, first, last, found);
            return;
        }
        let lost = (first..=until).find(|tick| !self.holds(hold, *tick));
        self.window(reach, false, first, lost.unwrap_or(last), found);
        if let Some(tick) = lost {
            self.node(hold, tick, found);
        }
    }

    /// The same backwards in time.
    fn since(&self, operands: &[usize], dual: bool, tick: u32, found: &mut Found) {
        let [hold, reach] = [operands[0], operands[1]];
        let failing = |node: usize| (0..=tick).rev().find(|at| !self.holds(node, *at));
        if dual {
            if let Some(at) = failing(reach) {
                self.node(reach, at, found);
            }
            return;
        }
        let lost = failing(hold);
        self.window(reach, false, lost.unwrap_or(0), tick, found);
        if let Some(at) = lost {
            self.node(hold, at, found);
        }
    }

    fn condition(&self, node: usize, tick: u32, found: &mut Found) {
        let row = (self.row)(tick);
        let node_itself = &self.program().nodes[node];
        let holds = self.holds(node, tick) != node_itself.said.negated;
        found.evidence.push(Evidence::new(node_itself, tick, holds, self.vocabulary, &row));
    }
}

fn seconds(tick: u32, vocabulary: &Vocabulary) -> f64 {
    f64::from(tick) * f64::from(vocabulary.period.micros()) / 1e6
}

fn show_time(seconds: f64) -> String {
    format!("{} s", show_number(seconds))
}

impl Evidence {
    fn new(node: &Node, tick: u32, holds: bool, vocabulary: &Vocabulary, row: &[f64]) -> Self {
        let columns: &[usize] = match &node.operator {
            Operator::Condition(condition) => &condition.columns,
            _ => &[],
        };
        let show = |column: &usize| {
            let signal = vocabulary.signals.get(*column)?;
            Some((signal.name.clone(), signal.show(row.get(*column).copied()?)))
        };
        Self {
            at: seconds(tick, vocabulary),
            condition: node.said.text.clone(),
            holds,
            values: columns.iter().filter_map(show).collect(),
        }
    }

    fn sentence(&self) -> String {
        let verb = if self.holds { "holds" } else { "fails" };
        let values: Vec<String> =
            self.values.iter().map(|(name, value)| format!("{name} = {value}")).collect();
        let said = format!("{} `{}` {verb}", show_time(self.at), self.condition);
        match values.as_slice() {
            [] => said,
            _ => format!("{said} with {}", values.join(", ")),
        }
    }
}
