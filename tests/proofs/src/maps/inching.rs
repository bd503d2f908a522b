//! Less drive by a pedal.

use trunnion::propel::{Inching, InchingConfig};
use trunnion::quantity::Ratio;
use trunnion::sense::{Flaw, Reading};

use super::{ONE, RATIO, Seeded, bits, edge, entry, permille, ratio};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study};

/// In thousandths.
#[derive(Debug, Clone, Copy)]
struct Rules {
    begin: i64,
    full: i64,
}

const WHOLE: [Rules; 2] = [Rules { begin: 100, full: 600 }, Rules { begin: 0, full: 100 }];

/// Within three steps of the straight line: both ends, the pedal beyond the first and the quotient are rounded.
fn is_right(rules: Rules, raw: i64, output: i64) -> bool {
    let width = i128::from(rules.full - rules.begin);
    let pressed = (i128::from(raw) * 1000 - i128::from(rules.begin) * i128::from(ONE)).max(0);
    let exact = (i128::from(ONE) * width - pressed).max(0);
    // One step of the pedal is 1000 / width of the output.
    (i128::from(output) * width - exact).abs() <= 2 * width + 1000
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "inching");
    let mut seeded = Seeded(15);
    let random = (0..40).map(|_| {
        let begin = seeded.between(0, 500);
        Rules { begin, full: seeded.between(begin + 100, 1000) }
    });
    for (place, rules) in WHOLE.into_iter().chain(random.collect::<Vec<_>>()).enumerate() {
        let config = InchingConfig { begin: permille(rules.begin), full: permille(rules.full) };
        let inching = Inching::new(config).expect("travels in range");
        let shape = Shape {
            domain: RATIO,
            bounds: (0, ONE),
            order: Order::Falls,
            odd: false,
            largest_change: 1000 / (rules.full - rules.begin) + 2,
            breakpoints: vec![edge(rules.begin), edge(rules.full), 0],
        };
        let at = |raw| Some(bits(inching.step(Ratio::ONE, Reading::Valid(ratio(raw)))));
        let right = |raw: i64, answer: Option<i64>| {
            answer.is_some_and(|output| {
                is_right(rules, raw, output)
                    && (raw >= edge(rules.begin) || output == ONE)
                    && (raw <= edge(rules.full) || output == 0)
            })
        };
        if place < WHOLE.len() {
            study.sweep(&format!("{rules:?}"), &shape, at, right);
        } else {
            study.sample(&format!("{rules:?}"), &shape, at, right);
        }
        let broken = inching.step(Ratio::ONE, Reading::Faulted(Flaw::WireBreak));
        study.demand(broken == Ratio::ZERO, &format!("{rules:?}: a broken pedal drives"));
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "inching",
        "propel/inching",
        "all 2³¹ + 1 pedal positions of a common and of the steepest pedal; 40 seeded ones by stride",
        &[
            "all of the drive up to the free travel, exactly nothing from the full one on",
            "straight in between, falling all the way",
            "without a valid reading nothing drives",
        ],
        study,
    )
}
