//! From a share of full command to a coil current.

use trunnion::quantity::Milliamps;
use trunnion::valve::{CurrentMap, CurrentMapConfig};

use super::{ONE, Seeded, entry, ratio};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study, is_nearest};

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "current_map");
    let mut seeded = Seeded(21);
    let mut family = vec![(240, 640), (0, 5_000), (4_999, 5_000)];
    family.extend((0..40).map(|_| {
        let threshold = seeded.between(0, 4_000);
        (threshold, seeded.between(threshold + 1, 5_000))
    }));
    for (place, (threshold, end)) in family.into_iter().enumerate() {
        let [low, high] = [threshold, end].map(Milliamps::saturating);
        let map = CurrentMap::new(CurrentMapConfig { threshold: low, end: high }).expect("currents in order");
        let at = |raw| Some(i64::from(map.step(ratio(raw)).raw()));
        let right = |raw: i64, answer: Option<i64>| {
            let above = i128::from(end - threshold) * i128::from(raw);
            answer.is_some_and(|output| {
                if raw <= 0 { output == 0 } else { is_nearest(output - threshold, above, ONE.into()) }
            })
        };
        // Two sweeps: the step from no current to the threshold is meant, and allowed nowhere else.
        let none = Shape {
            domain: (-ONE, 0),
            bounds: (0, 0),
            order: Order::Rises,
            odd: false,
            largest_change: 0,
            breakpoints: vec![],
        };
        let some = Shape { domain: (1, ONE), bounds: (threshold, end), largest_change: 1, ..none.clone() };
        for shape in [none, some] {
            let label = format!("{threshold} to {end} mA from {}", shape.domain.0);
            if place < 2 {
                study.sweep(&label, &shape, at, right);
            } else {
                study.sample(&label, &shape, at, right);
            }
        }
        study.demand(at(ONE) == Some(end), "full command is not the end current");
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "current_map",
        "valve/current_map",
        "all 2³¹ + 1 shares of a common valve and of the widest; 41 others by stride",
        &[
            "no or negative command is no current, the smallest is the threshold, full is the end",
            "straight in between, to the nearest milliampere with ties up, rising by 1 mA at most",
        ],
        study,
    )
}
