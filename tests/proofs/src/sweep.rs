//! Sweeps a map of one input over its raw inputs and holds claims against every answer.
//!
//! A map gives a raw output, or nothing where it refuses the input or tells a fault. Every answer is compared with the
//! one before it (order, largest change), with its mirror (symmetry), with bounds, and by a rule of its own that says
//! whether the answer is right: exact integer arithmetic where rounding is claimed.
//!
//! Whole: all inputs of the domain, in pieces on all cores. Quick: every breakpoint and both ends with their
//! neighbours, and a stride in between; domains of up to [`SMALL`] inputs are done whole even then. The results do not
//! depend on the number of threads.

use crate::{
    proof::{Bench, Effort, Outcome},
    threads,
};

/// Domains of up to so many inputs are always swept whole.
pub const SMALL: i64 = 1 << 17;
/// Points of the stride of a quick sweep.
const STRIDES: i64 = 20_000;
/// Inputs of a piece.
const PIECE: i64 = 1 << 20;

/// Nothing is claimed of the largest change.
pub const ANY_CHANGE: i64 = i64::MAX;

/// Which way outputs go as inputs grow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Order {
    /// Never down.
    Rises,
    /// Never up.
    Falls,
    /// Any way.
    Free,
}

/// What is claimed of a map with one configuration.
#[derive(Debug, Clone)]
pub struct Shape {
    /// First and last raw input.
    pub domain: (i64, i64),
    /// Least and largest raw output.
    pub bounds: (i64, i64),
    /// Which way it goes.
    pub order: Order,
    /// The output at −x is minus that at x.
    pub odd: bool,
    /// Largest change of the output for the smallest change of the input; [`ANY_CHANGE`] where none is claimed.
    pub largest_change: i64,
    /// Where the rule changes.
    pub breakpoints: Vec<i64>,
}

/// Gathers the sweeps of one proof.
pub struct Study<'a> {
    bench: &'a Bench<'a>,
    name: &'static str,
    outcome: Outcome,
    /// The change that came nearest to what is allowed.
    nearest: Option<(f64, String)>,
}

/// What a piece of a sweep found.
#[derive(Default)]
struct Part {
    inputs: u64,
    checksum: u64,
    change: (u64, i64),
    finding: Option<(i64, String)>,
}

impl<'a> Study<'a> {
    /// Nothing swept yet.
    pub fn new(bench: &'a Bench<'a>, name: &'static str) -> Self {
        Self { bench, name, outcome: Outcome::default(), nearest: None }
    }

    /// Whether all inputs are asked for.
    pub fn is_whole(&self) -> bool {
        self.bench.effort == Effort::Whole
    }

    /// Sweeps one configuration. `at` is the map; `right` says whether an answer is the right one.
    pub fn sweep(
        &mut self,
        label: &str,
        shape: &Shape,
        at: impl Fn(i64) -> Option<i64> + Sync,
        right: impl Fn(i64, Option<i64>) -> bool + Sync,
    ) {
        let (first, last) = shape.domain;
        let whole = self.bench.effort == Effort::Whole || last - first < SMALL;
        if !whole {
            return self.sample(label, shape, at, right);
        }
        let parts = {
            let pieces = (last - first) / PIECE + 1;
            self.bench.progress.begin(&format!("{} {label}", self.name), (last - first + 1).cast_unsigned());
            threads::in_order(self.bench.threads, pieces.cast_unsigned(), |piece| {
                let from = first + piece.cast_signed() * PIECE;
                let to = last.min(from + PIECE - 1);
                let part = swept(shape, from, to, &at, &right);
                self.bench.progress.advance((to - from + 1).cast_unsigned());
                part
            })
        };
        self.take(label, shape, parts);
    }

    /// Looks at breakpoints, ends and a stride of one configuration, whatever is asked for.
    pub fn sample(
        &mut self,
        label: &str,
        shape: &Shape,
        at: impl Fn(i64) -> Option<i64> + Sync,
        right: impl Fn(i64, Option<i64>) -> bool + Sync,
    ) {
        let part = sampled(shape, &at, &right);
        self.take(label, shape, vec![part]);
    }

    /// What all sweeps of the proof covered and found.
    pub fn conclude(mut self) -> Outcome {
        if let Some((_, words)) = self.nearest {
            self.outcome.measured.push(words);
        }
        self.outcome
    }

    /// A claim about a configuration that no single input shows.
    pub fn demand(&mut self, holds: bool, what: &str) {
        if !holds {
            self.outcome.findings.push(what.to_owned());
        }
    }

    fn take(&mut self, label: &str, shape: &Shape, parts: Vec<Part>) {
        self.outcome.configurations += 1;
        let mut change = (0, shape.domain.0);
        for part in parts {
            self.outcome.inputs += part.inputs;
            self.outcome.checksum = self.outcome.checksum.wrapping_add(part.checksum);
            if part.change.0 > change.0 {
                change = part.change;
            }
            if let Some((raw, why)) = part.finding
                && self.outcome.findings.len() < 10
            {
                self.outcome.findings.push(format!("{label}, input {raw}: {why}"));
            }
        }
        if shape.largest_change == ANY_CHANGE {
            return;
        }
        let share = change.0 as f64 / shape.largest_change.max(1) as f64;
        if self.nearest.as_ref().is_none_or(|(before, _)| share > *before) {
            let words = format!(
                "largest change of the output for the smallest change of the input: {}, allowed {} ({label}, input {})",
                change.0, shape.largest_change, change.1
            );
            self.nearest = Some((share, words));
        }
    }
}

/// All inputs from `from` to `to`, and the step into `from`.
fn swept(
    shape: &Shape,
    from: i64,
    to: i64,
    at: &impl Fn(i64) -> Option<i64>,
    right: &impl Fn(i64, Option<i64>) -> bool,
) -> Part {
    let mut part = Part { change: (0, from), ..Part::default() };
    let mut before = if from > shape.domain.0 { at(from - 1) } else { None };
    for raw in from..=to {
        let answer = at(raw);
        part.inputs += 1;
        if let Err(why) = judged(shape, raw, before, answer, at, right, &mut part) {
            part.finding = Some((raw, why));
            break;
        }
        before = answer;
    }
    part
}

/// Breakpoints, ends and a stride, each with the input after it.
fn sampled(
    shape: &Shape,
    at: &impl Fn(i64) -> Option<i64>,
    right: &impl Fn(i64, Option<i64>) -> bool,
) -> Part {
    let (first, last) = shape.domain;
    let mut part = Part { change: (0, first), ..Part::default() };
    let mut sampled_before = None;
    for raw in points(shape) {
        let answer = at(raw);
        part.inputs += 1;
        let follows = order_holds(shape.order, sampled_before, answer);
        let mut verdict = judged(shape, raw, None, answer, at, right, &mut part);
        if raw < last && verdict.is_ok() {
            part.inputs += 1;
            verdict = judged(shape, raw + 1, answer, at(raw + 1), at, right, &mut part);
        }
        if !follows && verdict.is_ok() {
            verdict = Err(format!("out of order: {answer:?} after {sampled_before:?}"));
        }
        if let Err(why) = verdict {
            part.finding = Some((raw, why));
            break;
        }
        sampled_before = answer.or(sampled_before);
    }
    part
}

fn points(shape: &Shape) -> Vec<i64> {
    let (first, last) = shape.domain;
    // Odd, so that a stride does not keep to round numbers.
    let stride = ((last - first) / STRIDES) | 1;
    let mut points: Vec<i64> = (0..=STRIDES).map(|step| first.saturating_add(step * stride)).collect();
    for point in shape.breakpoints.iter().copied().chain([first, last, 0]) {
        points.extend(point - 3..=point + 3);
    }
    points.retain(|point| (first..=last).contains(point));
    points.sort_unstable();
    points.dedup();
    points
}

fn order_holds(order: Order, before: Option<i64>, after: Option<i64>) -> bool {
    match (before, after) {
        (Some(before), Some(after)) => match order {
            Order::Rises => after >= before,
            Order::Falls => after <= before,
            Order::Free => true,
        },
        _ => true,
    }
}

#[inline(always)]
fn judged(
    shape: &Shape,
    raw: i64,
    before: Option<i64>,
    answer: Option<i64>,
    at: &impl Fn(i64) -> Option<i64>,
    right: &impl Fn(i64, Option<i64>) -> bool,
    part: &mut Part,
) -> Result<(), String> {
    if !right(raw, answer) {
        return Err(format!("{answer:?} is not right"));
    }
    let Some(output) = answer else { return Ok(()) };
    part.checksum = part.checksum.wrapping_add(output.cast_unsigned().wrapping_mul(raw.cast_unsigned() | 1));
    if output < shape.bounds.0 || output > shape.bounds.1 {
        return Err(format!("{output} is outside {:?}", shape.bounds));
    }
    if shape.odd && raw > 0 && at(-raw) != Some(-output) {
        return Err(format!("{output}, but {:?} at the mirrored input", at(-raw)));
    }
    if let Some(before) = before {
        let change = output.abs_diff(before);
        if change > part.change.0 {
            part.change = (change, raw);
        }
        if change > shape.largest_change.unsigned_abs() {
            return Err(format!("{output} after {before}: a change of {change}"));
        }
        if !order_holds(shape.order, Some(before), answer) {
            return Err(format!("out of order: {output} after {before}"));
        }
    }
    Ok(())
}

/// Whether `output` is `numerator / denominator` to nearest, ties away from zero; the denominator above zero.
///
/// Without division: |2 · (output · denominator − numerator)| is below the denominator, or meets it on the far side.
#[inline(always)]
pub fn is_nearest(output: i64, numerator: i128, denominator: i128) -> bool {
    let off = 2 * (i128::from(output) * denominator - numerator);
    let magnitude = off.abs();
    magnitude < denominator || (magnitude == denominator && (off > 0) == (numerator > 0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tie_goes_away_from_zero_and_nothing_else_does() {
        assert!(is_nearest(2, 3, 2) && !is_nearest(1, 3, 2));
        assert!(is_nearest(-2, -3, 2) && !is_nearest(-1, -3, 2));
        assert!(is_nearest(1, 5, 4) && !is_nearest(2, 5, 4) && is_nearest(0, 0, 4));
    }

    #[test]
    fn a_quick_sweep_looks_at_both_sides_of_every_breakpoint() {
        let shape = Shape {
            domain: (-(1 << 30), 1 << 30),
            bounds: (0, 0),
            order: Order::Free,
            odd: false,
            largest_change: 0,
            breakpoints: vec![123_456_789],
        };
        let points = points(&shape);
        for near in [123_456_788, 123_456_789, 123_456_790, -(1 << 30), 1 << 30, 0] {
            assert!(points.contains(&near), "{near}");
        }
        assert!(points.len() > 20_000 && points.is_sorted());
    }
}
