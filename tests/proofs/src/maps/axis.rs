//! The response of a lever axis.

use trunnion::lever::{Axis, AxisConfig};

use super::{ONE, RATIO, Seeded, bits, edge, entry, permille, ratio};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study};

/// In thousandths.
#[derive(Debug, Clone, Copy)]
struct Rules {
    deadband: i64,
    saturation: i64,
    progression: i64,
}

/// Corners of the range, then common practice.
const WHOLE: [Rules; 5] = [
    Rules { deadband: 0, saturation: 1000, progression: 0 },
    Rules { deadband: 400, saturation: 500, progression: 1000 },
    Rules { deadband: 0, saturation: 500, progression: 1000 },
    Rules { deadband: 400, saturation: 1000, progression: 500 },
    Rules { deadband: 80, saturation: 980, progression: 300 },
];

/// What six roundings of half a step each can add up to, the first of them steepened by the slope of up to 3.
const ROUNDING: f64 = 4.0;

/// `(1 − p) · x + p · x³` in steps of 2⁻³⁰. Double precision is off by a millionth of a step at most.
///
/// Both edges are taken as the block keeps them, to the nearest 2⁻³⁰: what that moves them is a matter of the
/// configuration, and steepened by the slope of the travel.
fn exact(edges: (i64, i64), progression: i64, raw: i64) -> f64 {
    let beyond = (raw.abs() - edges.0).max(0) as f64;
    let share = (beyond / (edges.1 - edges.0) as f64).min(1.0);
    let progression = progression as f64 / 1000.0;
    ((1.0 - progression) * share + progression * share.powi(3)) * ONE as f64
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "axis");
    let mut seeded = Seeded(6);
    let random = (0..40).map(|_| Rules {
        deadband: seeded.between(0, 400),
        saturation: seeded.between(500, 1000),
        progression: seeded.between(0, 1000),
    });
    for (place, rules) in WHOLE.into_iter().chain(random.collect::<Vec<_>>()).enumerate() {
        let Rules { deadband, saturation, progression } = rules;
        let axis = Axis::new(AxisConfig {
            deadband: permille(deadband),
            saturation: permille(saturation),
            progression: permille(progression),
        })
        .expect("a response in range");
        let shape = Shape {
            domain: RATIO,
            bounds: RATIO,
            order: Order::Rises,
            odd: true,
            // A step of the position is at most so many whole steps of the share, each worth the steepest slope of the cubic;
            // four for the roundings of square, cube and both products on either side.
            largest_change: (1000 + 2 * progression) * (1000 / (saturation - deadband) + 1) / 1000 + 1 + 4,
            breakpoints: [deadband, saturation].into_iter().flat_map(|at| [edge(at), -edge(at)]).collect(),
        };
        let edges = (bits(permille(deadband).into()), bits(permille(saturation).into()));
        let at = |raw| Some(bits(axis.step(ratio(raw))));
        let right = |raw: i64, answer: Option<i64>| {
            let Some(output) = answer else { return false };
            let silent = raw.abs() < edge(deadband);
            let full = raw.abs() > edge(saturation) + 1;
            (!silent || output == 0)
                && (!full || output.abs() == ONE)
                && (output.abs() as f64 - exact(edges, progression, raw)).abs() <= ROUNDING
        };
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
        "axis",
        "lever/axis",
        "all 2³¹ + 1 positions of four corners and of common practice; 40 seeded ones by stride",
        &[
            "no intent inside the deadband, full from saturation on",
            "never outside −1 to 1, monotone, the same to both sides bit for bit",
            "`(1 − p) · x + p · x³` to 4 · 2⁻³⁰",
            "continuous: for one step at most (1 + 2 p) times the whole steps of the share, and 5 steps",
        ],
        study,
    )
}
