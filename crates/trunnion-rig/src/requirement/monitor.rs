use std::sync::Arc;

use serde::Serialize;

use super::bind::{Bound, bind};
use super::explain::{Explanation, Explorer, closest};
use super::expression::Expression;
use super::robustness::Robustness;
use super::stream::{Beyond, Operator};
use super::verdict::Outcome;
use super::vocabulary::Vocabulary;
use crate::language::Complaint;

/// What a run says of a requirement.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// It holds, whatever might have come after the run.
    Held,
    /// It does not, whatever might have come after the run.
    Violated,
    /// The run ended before it was decided.
    Inconclusive,
}

/// The judgement of a formula over a whole run.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// Whether it holds.
    pub verdict: Verdict,
    /// How far the run stayed from the other verdict, negative when violated, in the unit of the condition
    /// that decided; `None` when a yes/no condition decided. When inconclusive: what the run shows when all
    /// windows are cut at its end.
    pub margin: Option<f64>,
    /// Unit of the margin; empty without one.
    pub unit: String,
    /// The tick to look at: of the first failure, or of the smallest margin.
    pub at: Option<u32>,
    /// Words for it.
    pub explanation: Explanation,
}

/// Watches a formula over a run, row by row.
///
/// Each operator costs a constant number of steps a row on average, whatever its time window.
///
/// ```
/// use std::sync::Arc;
/// use trunnion::quantity::Period;
/// use trunnion_rig::requirement::{Expression, Monitor, Signal, Verdict, Vocabulary};
///
/// let vocabulary = Arc::new(Vocabulary {
///     signals: vec![Signal::switch("seat_open"), Signal::number("drive_current", "mA")],
///     constants: vec![],
///     period: Period::from_micros(10_000).unwrap(),
/// });
/// let formula = Expression::parse("always (seat_open implies within 20 ms drive_current < 50 mA)").unwrap();
/// let mut monitor = Monitor::new(&formula, &vocabulary).unwrap();
/// let rows = [[0.0, 400.0], [1.0, 300.0], [1.0, 120.0], [1.0, 30.0], [1.0, 0.0]];
/// for row in rows {
///     monitor.push(&row);
/// }
/// let judgement = monitor.judge(|tick| rows[tick as usize].to_vec());
/// assert_eq!(judgement.verdict, Verdict::Held);
/// assert_eq!((judgement.margin, judgement.unit.as_str()), (Some(20.0), "mA")); // 50 - 30
/// ```
#[derive(Debug, Clone)]
pub struct Monitor {
    fresh: Arc<Bound>,
    running: Bound,
    vocabulary: Arc<Vocabulary>,
}

impl Monitor {
    /// Settles the formula's names, units and times. Refuses unknown names, units that do not compare, times
    /// between two ticks, and formulas that do not say when.
    pub fn new(formula: &Expression, vocabulary: &Arc<Vocabulary>) -> Result<Self, Complaint> {
        let fresh = bind(formula, vocabulary)?;
        Ok(Self { running: fresh.clone(), fresh: Arc::new(fresh), vocabulary: Arc::clone(vocabulary) })
    }

    /// Takes the next row: the value of each signal of the vocabulary, in its order.
    pub fn push(&mut self, row: &[f64]) {
        self.running.program.push(row, |_, _| {});
        self.running.claim.gather(&mut self.running.program);
    }

    /// True when no later row can change the verdict (the margin still can).
    pub fn is_settled(&self) -> bool {
        self.running.claim.is_settled()
    }

    /// What is decided so far: true while nothing has failed for good, and the margin with its unit. Costs no more
    /// than a row; a condition on what is still to come is not in it.
    pub fn so_far(&self) -> (bool, f64, &str) {
        let outcome = self.running.claim.outcome(self.running.program.rows(), Beyond::Absent);
        let broken = self.is_settled() && !outcome.value.holds;
        let unit =
            outcome.value.cause.and_then(|cause| self.fresh.program.nodes.get(usize::from(cause.atom)));
        let unit = match unit.map(|node| &node.operator) {
            Some(Operator::Condition(condition)) => condition.unit.as_str(),
            _ => "",
        };
        (!broken, outcome.value.margin, unit)
    }

    /// Ends the run and judges it. `row` gives back any row that was pushed, for the explanation.
    pub fn judge(&self, row: impl Fn(u32) -> Vec<f64>) -> Judgement {
        let outcomes = [Beyond::Worst, Beyond::Best, Beyond::Absent].map(|beyond| self.outcome(beyond));
        let [worst, best, absent] = outcomes;
        let (verdict, outcome, beyond) = match (worst.value.holds, best.value.holds) {
            (true, _) => (Verdict::Held, worst, Beyond::Worst),
            (false, false) => (Verdict::Violated, best, Beyond::Best),
            (false, true) => (Verdict::Inconclusive, absent, Beyond::Worst),
        };
        let margin = Some(outcome.value.margin).filter(|margin| margin.is_finite());
        let unit = margin.and_then(|_| self.unit(outcome.value)).unwrap_or_default();
        let explanation = match verdict {
            Verdict::Held => closest(&self.fresh, &self.vocabulary, outcome.value, row),
            Verdict::Violated | Verdict::Inconclusive => {
                let rows = self.running.program.rows();
                Explorer::new(&self.fresh, &self.vocabulary, rows, beyond, row).failure()
            }
        };
        let at = match verdict {
            Verdict::Held => outcome.value.cause.map(|cause| cause.tick).or(outcome.at),
            Verdict::Violated => outcome.at,
            Verdict::Inconclusive => worst.at,
        };
        Judgement { verdict, margin, unit, at, explanation }
    }

    fn outcome(&self, beyond: Beyond) -> Outcome {
        let mut running = self.running.clone();
        running.program.finish(beyond, |_, _| {});
        running.claim.gather(&mut running.program);
        running.claim.outcome(running.program.rows(), beyond)
    }

    fn unit(&self, value: Robustness) -> Option<String> {
        let node = self.fresh.program.nodes.get(usize::from(value.cause?.atom))?;
        match &node.operator {
            Operator::Condition(condition) => Some(condition.unit.clone()),
            _ => None,
        }
    }
}
