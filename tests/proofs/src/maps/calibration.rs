//! A lever's own ends and centre.

use trunnion::lever::{AxisCalibration, AxisCalibrationConfig};
use trunnion::quantity::Millivolts;
use trunnion::sense::{Flaw, Reading};

use super::{ONE, RATIO, Seeded, bits, entry, permille};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study, is_nearest};

/// In millivolts.
#[derive(Debug, Clone, Copy)]
struct Rules {
    low: i64,
    centre: i64,
    high: i64,
    overtravel: i64,
}

const CORNERS: [Rules; 4] = [
    Rules { low: 480, centre: 2_530, high: 4_530, overtravel: 150 },
    Rules { low: 0, centre: 32_768, high: 65_535, overtravel: 0 },
    Rules { low: 100, centre: 101, high: 102, overtravel: 1 },
    Rules { low: 1_000, centre: 2_000, high: 4_000, overtravel: 65_535 },
];

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "calibration");
    let mut seeded = Seeded(8);
    let random = (0..200).map(|_| {
        let centre = seeded.between(1_000, 60_000);
        let travel = seeded.between(1, 1_000);
        // Either side at most three times the other: the centre is no farther from the middle than is allowed.
        Rules {
            low: centre - travel,
            centre,
            high: (centre + seeded.between(travel.div_euclid(3) + 1, 3 * travel)).min(65_535),
            overtravel: seeded.between(0, 500),
        }
    });
    for rules in CORNERS.into_iter().chain(random.collect::<Vec<_>>()) {
        let Rules { low, centre, high, overtravel } = rules;
        let millivolts = Millivolts::saturating;
        let calibration = AxisCalibration::new(AxisCalibrationConfig {
            low: millivolts(low),
            centre: millivolts(centre),
            high: millivolts(high),
            shortest_travel: millivolts(1),
            off_centre: permille(500),
            overtravel: millivolts(overtravel),
        })
        .unwrap_or_else(|error| panic!("{rules:?}: {error}"));
        let shortest = (centre - low).min(high - centre);
        let shape = Shape {
            domain: (0, 65_535),
            bounds: RATIO,
            order: Order::Rises,
            odd: false,
            largest_change: ONE / shortest + 1,
            breakpoints: vec![low, centre, high, low - overtravel, high + overtravel],
        };
        study.sweep(
            &format!("{rules:?}"),
            &shape,
            |raw| match calibration.step(millivolts(raw)) {
                Reading::Valid(position) => Some(bits(position)),
                Reading::Faulted(Flaw::OutOfRange) => None,
                Reading::Faulted(other) => panic!("no calibration tells {other:?}"),
            },
            |raw, answer| {
                let Some(position) = answer else { return raw < low - overtravel || raw > high + overtravel };
                let held = raw.max(low).min(high) - centre;
                let travel = if held < 0 { centre - low } else { high - centre };
                raw >= low - overtravel
                    && raw <= high + overtravel
                    && is_nearest(position, i128::from(held) * i128::from(ONE), travel.into())
            },
        );
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "calibration",
        "lever/calibration",
        "all 65 536 millivolts of four corners and 200 seeded levers",
        &[
            "zero at the centre, −1 and 1 at the ends, straight in between, to nearest with ties away from zero",
            "rests at the end within the overtravel, out of range beyond it",
            "monotone",
        ],
        study,
    )
}
