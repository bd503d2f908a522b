//! From a share to a quantity.

use trunnion::declare::Field;
use trunnion::quantity::{Celsius, Kilopascals, Millivolts};
use trunnion::sense::Span;

use super::{ONE, RATIO, Seeded, entry, ratio};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study, is_nearest};

fn span<Q: Field + Sync>(study: &mut Study<'_>, low: i64, high: i64, whole: bool) {
    let span = Span::new(Q::held(low), Q::held(high));
    let shape = Shape {
        domain: RATIO,
        bounds: (low.min(high), low.max(high)),
        order: if high < low { Order::Falls } else { Order::Rises },
        odd: false,
        largest_change: (high - low).abs() / ONE + 1,
        breakpoints: vec![0],
    };
    let at = |raw| Some(span.at(ratio(raw)).to_raw());
    // What is added to the lower end is rounded, so a tie goes away from that end.
    let right = |raw: i64, answer: Option<i64>| {
        let rise = i128::from(raw.max(0)) * i128::from(high - low);
        answer.is_some_and(|output| is_nearest(output - low, rise, ONE.into()))
    };
    let label = format!("{low} to {high} {}", Q::UNIT);
    if whole {
        study.sweep(&label, &shape, at, right);
    } else {
        study.sample(&label, &shape, at, right);
    }
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "span");
    span::<Kilopascals>(&mut study, -100_000, 100_000, true);
    span::<Celsius>(&mut study, 1_300, -400, true);
    let mut seeded = Seeded(12);
    for _ in 0..20 {
        let [low, high] = [0; 2].map(|_| seeded.between(-100_000, 100_000));
        span::<Kilopascals>(&mut study, low, high, false);
        let [low, high] = [0; 2].map(|_| seeded.between(0, 65_535));
        span::<Millivolts>(&mut study, low, high, false);
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "span",
        "sense/span",
        "all 2³¹ + 1 shares of the widest rising and of a falling span; 40 seeded ones by stride",
        &[
            "a straight line that meets both ends, to nearest with ties away from the lower end",
            "a share below zero counts as zero",
            "monotone, at most one step for one step",
        ],
        study,
    )
}
