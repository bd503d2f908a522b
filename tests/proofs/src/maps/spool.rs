//! From intent to the opening of a spool.

use trunnion::quantity::Ratio;
use trunnion::work::{Spool, SpoolConfig};

use super::{ONE, RATIO, Seeded, bits, entry, permille, ratio};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study, is_nearest};

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "spool");
    let mut seeded = Seeded(19);
    let mut family = vec![(1000, 700), (0, 1000)];
    family.extend((0..40).map(|_| (seeded.between(0, 1000), seeded.between(0, 1000))));
    for (place, (positive, negative)) in family.into_iter().enumerate() {
        let config = SpoolConfig { positive: permille(positive), negative: permille(negative) };
        let spool = Spool::new(config).expect("openings in range");
        let largest = [negative, positive].map(|share| bits(permille(share).into()));
        let shape = Shape {
            domain: RATIO,
            bounds: (-largest[0], largest[1]),
            order: Order::Rises,
            odd: false,
            largest_change: 1,
            breakpoints: vec![0],
        };
        let at = |raw| Some(bits(spool.step(ratio(raw), Ratio::ONE)));
        let right = |raw: i64, answer: Option<i64>| {
            let product = i128::from(raw) * i128::from(largest[usize::from(raw >= 0)]);
            answer.is_some_and(|output| is_nearest(output, product, ONE.into()))
        };
        let label = format!("{positive} ‰ and {negative} ‰");
        if place < 1 {
            study.sweep(&label, &shape, at, right);
        } else {
            study.sample(&label, &shape, at, right);
        }
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "spool",
        "work/spool",
        "all 2³¹ + 1 intents of a boom spool; 41 others by stride, one with a forbidden direction",
        &[
            "the share of each direction, to nearest with ties away from zero",
            "a direction of 0 ‰ never opens",
            "monotone, at most one step for one step",
        ],
        study,
    )
}
