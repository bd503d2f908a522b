use super::condition::{Condition, Test};
use super::expression::{Duration, Edge, Expression, Join, Node, Prefix, Relation};
use super::measure::Measure;
use super::names::Names;
use super::robustness::Robustness;
use super::sliding::{Extreme, UntilWindow};
use super::stream::{Operator, Program, Said};
use super::verdict::Claim;
use super::vocabulary::Vocabulary;
use crate::language::Complaint;

/// A formula whose names, units and times are settled.
#[derive(Debug, Clone)]
pub(crate) struct Bound {
    pub(crate) program: Program,
    pub(crate) claim: Claim,
}

/// Settles a formula against a vocabulary.
///
/// The result is in negation normal form: `negated` runs down the tree and turns every operator into its dual,
/// so that all of them grow with their operands. That is what lets the worst and the best end of an unfinished
/// run be found by putting the worst and the best value in place of what is not known.
pub(crate) fn bind(formula: &Expression, vocabulary: &Vocabulary) -> Result<Bound, Complaint> {
    says_when(formula)?;
    let mut binder = Binder { names: Names::new(vocabulary), program: Program::default() };
    let claim = binder.claim(formula, false, 0)?;
    Ok(Bound { program: binder.program, claim })
}

/// Refuses a formula of which a part is looked at only at the first tick: the writer forgot the `always`.
fn says_when(formula: &Expression) -> Result<(), Complaint> {
    match &formula.node {
        Node::And(parts) | Node::Or(parts) => parts.iter().try_for_each(says_when),
        Node::Not(part) => says_when(part),
        Node::Implies(left, right) => says_when(left).and_then(|()| says_when(right)),
        Node::Truth(_) | Node::Joined(Join::Until, ..) => Ok(()),
        Node::Prefix(prefix, _) if !prefix.looks_back() => Ok(()),
        _ => Err(forgotten_when(formula)),
    }
}

fn forgotten_when(formula: &Expression) -> Complaint {
    Complaint::new(
        formula.span,
        "this does not say when it must hold, and would be looked at only at the first tick",
    )
    .expected("`always (…)`, `from 8 s …`, `at 8 s …`, `within 3 s …`")
    .help(format!("if it must hold throughout, write `always ({formula})`"))
}

struct Binder<'a> {
    names: Names<'a>,
    program: Program,
}

impl Binder<'_> {
    /// The part of a formula that is asked only at one tick, `origin`.
    fn claim(&mut self, formula: &Expression, negated: bool, origin: u32) -> Result<Claim, Complaint> {
        match &formula.node {
            Node::Not(part) => self.claim(part, !negated, origin),
            Node::And(parts) => self.claims(parts, negated, !negated, origin),
            Node::Or(parts) => self.claims(parts, negated, negated, origin),
            Node::Implies(left, right) => {
                let parts = vec![self.claim(left, !negated, origin)?, self.claim(right, negated, origin)?];
                Ok(Claim::Join { least: negated, parts })
            }
            Node::Prefix(prefix, operand) => self.prefix_claim(formula, prefix, operand, negated, origin),
            _ => Ok(Claim::pick(self.node(formula, negated)?, origin)),
        }
    }

    fn claims(
        &mut self,
        parts: &[Expression],
        negated: bool,
        least: bool,
        origin: u32,
    ) -> Result<Claim, Complaint> {
        let parts = parts.iter().map(|part| self.claim(part, negated, origin)).collect::<Result<_, _>>()?;
        Ok(Claim::Join { least, parts })
    }

    fn prefix_claim(
        &mut self,
        formula: &Expression,
        prefix: &Prefix,
        operand: &Expression,
        negated: bool,
        origin: u32,
    ) -> Result<Claim, Complaint> {
        let later = |ticks: u32| origin.saturating_add(ticks);
        let (first, last, least) = match prefix {
            Prefix::Always => (origin, None, true),
            Prefix::Eventually => (origin, None, false),
            Prefix::For(time) => (origin, Some(later(self.names.ticks(time)?)), true),
            Prefix::Within(time) => (origin, Some(later(self.names.ticks(time)?)), false),
            Prefix::After(time) => {
                let ticks = self.names.ticks(time)?;
                return self.claim(operand, negated, later(ticks));
            }
            Prefix::At(time) => {
                let at = self.names.ticks(time)?;
                return self.claim(operand, negated, at);
            }
            Prefix::From(begin, end) => self.span_of_run(begin, end.as_ref())?,
            Prefix::Once | Prefix::OnceWithin(_) | Prefix::SoFar | Prefix::HeldFor(_) => {
                return Ok(Claim::pick(self.node(formula, negated)?, origin));
            }
        };
        let node = self.node(operand, negated)?;
        Ok(Claim::over(least != negated, node, first, last))
    }

    fn span_of_run(
        &self,
        begin: &Duration,
        end: Option<&Duration>,
    ) -> Result<(u32, Option<u32>, bool), Complaint> {
        let first = self.names.ticks(begin)?;
        let last = end.map(|end| self.names.ticks(end)).transpose()?;
        if let (Some(last), Some(end)) = (last, end)
            && last < first
        {
            return Err(Complaint::new(end.span(), format!("the time `{end}` is before `{begin}`"))
                .expected(format!("a time of the run after {begin}")));
        }
        Ok((first, last, true))
    }

    /// A part of a formula that is asked at every tick; returns its place in the program.
    fn node(&mut self, formula: &Expression, negated: bool) -> Result<usize, Complaint> {
        let said = Said { text: formula.to_string(), negated };
        let (operator, operands) = match &formula.node {
            Node::Not(part) => return self.node(part, !negated),
            Node::And(parts) => (Operator::Join { least: !negated }, self.nodes(parts, negated)?),
            Node::Or(parts) => (Operator::Join { least: negated }, self.nodes(parts, negated)?),
            Node::Implies(left, right) => {
                let operands = vec![self.node(left, !negated)?, self.node(right, negated)?];
                (Operator::Join { least: negated }, operands)
            }
            Node::Prefix(prefix, operand) => {
                let operator = self.prefix_operator(formula, prefix, negated)?;
                (operator, vec![self.node(operand, negated)?])
            }
            Node::Joined(join, bound, left, right) => {
                let operator = self.join_operator(*join, bound.as_ref(), negated)?;
                (operator, vec![self.node(left, negated)?, self.node(right, negated)?])
            }
            Node::Edge(edge @ (Edge::Rises | Edge::Falls), operand) => {
                return self.edge(operand, *edge == Edge::Falls, said);
            }
            _ => (Operator::Condition(self.condition(formula, negated)?), Vec::new()),
        };
        Ok(self.program.add(operator, operands, said))
    }

    fn nodes(&mut self, parts: &[Expression], negated: bool) -> Result<Vec<usize>, Complaint> {
        parts.iter().map(|part| self.node(part, negated)).collect()
    }

    /// `x rises` is `x` now and not `x` one tick ago; at the first tick nothing rises.
    fn edge(&mut self, operand: &Expression, falls: bool, said: Said) -> Result<usize, Complaint> {
        let negated = said.negated;
        let now = self.node(operand, falls != negated)?;
        let then = self.node(operand, falls == negated)?;
        let memory = Robustness::certain(negated);
        let one_tick_ago = Said { text: format!("previously {operand}"), negated: falls == negated };
        let before = self.program.add(Operator::Previous { memory }, vec![then], one_tick_ago);
        Ok(self.program.add(Operator::Join { least: !negated }, vec![now, before], said))
    }

    fn prefix_operator(
        &self,
        formula: &Expression,
        prefix: &Prefix,
        negated: bool,
    ) -> Result<Operator, Complaint> {
        let future = |least: bool, ticks: u32| Operator::Future {
            least,
            ticks,
            taken: 0,
            given: 0,
            window: Extreme::new(least),
        };
        let past = |least: bool, ticks: u32, before: bool| Operator::Past {
            least,
            ticks,
            before: Robustness::certain(before),
            taken: 0,
            window: Extreme::new(least),
        };
        let so_far = |least: bool| Operator::SoFar { least, extreme: Robustness::certain(least) };
        Ok(match prefix {
            Prefix::Always => Operator::Rest { least: !negated },
            Prefix::Eventually => Operator::Rest { least: negated },
            Prefix::For(time) => future(!negated, self.names.ticks(time)?),
            Prefix::Within(time) => future(negated, self.names.ticks(time)?),
            Prefix::After(time) => Operator::Ahead { ticks: self.names.ticks(time)?, skipped: 0 },
            Prefix::Once => so_far(negated),
            Prefix::SoFar => so_far(!negated),
            // What was before the run is no evidence: neither that it once was nor that it was held.
            Prefix::OnceWithin(time) => past(negated, self.names.ticks(time)?, negated),
            Prefix::HeldFor(time) => past(!negated, self.names.ticks(time)?, negated),
            Prefix::From(..) | Prefix::At(_) => {
                return Err(Complaint::new(formula.span, format!("`{prefix}` counts from the beginning of the run"))
                    .expected("such a time stands outermost")
                    .help("inside of another operator over time use `after`, `within` or `for`, which count from there"));
            }
        })
    }

    fn join_operator(&self, join: Join, bound: Option<&Duration>, dual: bool) -> Result<Operator, Complaint> {
        let ticks = bound.map(|time| self.names.ticks(time)).transpose()?;
        Ok(match (join, ticks) {
            (Join::Until, None) => Operator::UntilEnd { dual },
            (Join::Until, Some(ticks)) => Operator::Until { dual, ticks, window: UntilWindow::new(dual) },
            (Join::Since, ticks) => Operator::Since {
                dual,
                ticks,
                taken: 0,
                window: Extreme::new(dual),
                value: Robustness::certain(dual),
            },
        })
    }

    fn condition(&self, formula: &Expression, negated: bool) -> Result<Condition, Complaint> {
        match &formula.node {
            Node::Truth(value) => Ok(Condition::new(Test::Truth(*value != negated), "")),
            Node::Name(name) => self.names.switch(name, formula.span, !negated),
            Node::Edge(_, operand) => {
                let of = self.names.anything(operand)?;
                Ok(Condition::new(Test::Changes { of, memory: None, wanted: !negated }, ""))
            }
            Node::Comparison { relation, left, right, tolerance } => {
                let relation = if negated { relation.opposite() } else { *relation };
                self.comparison(relation, left, right, tolerance.as_deref())
            }
            _ => Err(Complaint::new(formula.span, format!("`{formula}` is a number, not a condition"))
                .expected(format!("a comparison, such as `{formula} > …`"))),
        }
    }

    fn comparison(
        &self,
        relation: Relation,
        left: &Expression,
        right: &Expression,
        tolerance: Option<&Expression>,
    ) -> Result<Condition, Complaint> {
        if let Some(condition) = self.names.choice_comparison(relation, left, right, tolerance)? {
            return Ok(condition);
        }
        let sides = [Some(left), Some(right), tolerance];
        let numbers =
            sides.into_iter().flatten().map(|side| self.names.number(side)).collect::<Result<Vec<_>, _>>()?;
        let (mut measures, unit) = self.names.in_one_unit(numbers)?;
        let tolerance = if measures.len() > 2 { measures.pop() } else { None };
        let (Some(right), Some(left)) = (measures.pop(), measures.pop()) else {
            return Err(Complaint::new(left.span, "a comparison has two sides"));
        };
        let tolerance = tolerance.unwrap_or(Measure::Constant(0.0));
        Ok(Condition::new(Test::Comparison { relation, left, right, tolerance }, unit.symbol()))
    }
}
