//! A share that depends on a quantity.

use trunnion::guard::{DerateCurve, DerateCurveConfig};

use super::{ONE, Seeded, bits, edge, entry, permille};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study};

/// Corners raw, shares in thousandths.
#[derive(Debug, Clone, Copy)]
struct Rules {
    low: i64,
    at_low: i64,
    high: i64,
    at_high: i64,
}

const ALL: (i64, i64) = (i32::MIN as i64, i32::MAX as i64);

const WHOLE: [Rules; 3] = [
    Rules { low: -150, at_low: 400, high: 100, at_high: 1000 },
    Rules { low: ALL.0, at_low: 1000, high: ALL.1, at_high: 0 },
    Rules { low: 900, at_low: 1000, high: 901, at_high: 200 },
];

/// Within two steps of the exact share: shares, place and product are rounded to half a step each.
fn is_right(rules: Rules, raw: i64, output: i64) -> bool {
    let width = i128::from(rules.high - rules.low);
    let along = i128::from(raw.max(rules.low).min(rules.high) - rules.low);
    let exact = i128::from(ONE)
        * (i128::from(rules.at_low) * width + i128::from(rules.at_high - rules.at_low) * along);
    (i128::from(output) * 1000 * width - exact).abs() <= 2 * 1000 * width
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "derate");
    let mut seeded = Seeded(14);
    let random = (0..40).map(|_| {
        let low = seeded.between(ALL.0, ALL.1 - 1);
        let width = 1_i64 << seeded.between(0, 32);
        Rules {
            low,
            at_low: seeded.between(0, 1000),
            high: (low + width).min(ALL.1),
            at_high: seeded.between(0, 1000),
        }
    });
    for (place, rules) in WHOLE.into_iter().chain(random.collect::<Vec<_>>()).enumerate() {
        let Rules { low, at_low, high, at_high } = rules;
        let curve = DerateCurve::new(DerateCurveConfig {
            low: low as i32,
            at_low: permille(at_low),
            high: high as i32,
            at_high: permille(at_high),
        })
        .unwrap_or_else(|error| panic!("{rules:?}: {error}"));
        let shape = Shape {
            domain: ALL,
            bounds: (edge(at_low.min(at_high)) - 1, edge(at_low.max(at_high)) + 1),
            order: if at_high < at_low { Order::Falls } else { Order::Rises },
            odd: false,
            largest_change: edge((at_high - at_low).abs()) / (high - low) + 2,
            breakpoints: vec![low, high],
        };
        let at = |raw| Some(bits(curve.step(raw as i32)));
        let right = |raw, answer: Option<i64>| answer.is_some_and(|output| is_right(rules, raw, output));
        if place < WHOLE.len() {
            study.sweep(&format!("{rules:?}"), &shape, at, right);
        } else {
            study.sample(&format!("{rules:?}"), &shape, at, right);
        }
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "derate",
        "guard/derate",
        "all 2³² values: cold oil, the widest and the narrowest corners; 40 seeded curves by stride",
        &[
            "level beyond the corners, straight in between to 2 · 2⁻³⁰",
            "between its two shares, monotone",
            "continuous: at most 2 steps more than its slope for one step",
        ],
        study,
    )
}
