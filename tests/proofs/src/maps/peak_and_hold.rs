//! The duty that holds a coil.

use trunnion::quantity::{Millis, Millivolts, Period};
use trunnion::valve::{PeakAndHold, PeakAndHoldConfig};

use super::{Seeded, entry};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{ANY_CHANGE, Order, Shape, Study, is_nearest};

const FULL: i64 = 10_000;

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "holding_duty");
    let mut seeded = Seeded(22);
    let mut family = vec![(5_000, 9_000, 16_000), (1, 1, 2), (1, 65_534, 65_535), (65_534, 65_534, 65_535)];
    family.extend((0..100).map(|_| {
        let lowest = seeded.between(1, 40_000);
        (seeded.between(1, lowest), lowest, seeded.between(lowest + 1, 65_535))
    }));
    for (hold, lowest, highest) in family {
        let of = Millivolts::saturating;
        let config = PeakAndHoldConfig {
            peak: Millis::millis(10),
            hold: of(hold),
            lowest_supply: of(lowest),
            highest_supply: of(highest),
        };
        let period = Period::from_micros(10_000).expect("a period in range");
        let mut held = PeakAndHold::new(config, period).expect("values in range");
        held.step(true, Some(of(highest)));
        let shape = Shape {
            domain: (0, 65_535),
            bounds: (0, FULL),
            order: Order::Falls,
            odd: false,
            largest_change: ANY_CHANGE,
            breakpoints: vec![lowest, highest],
        };
        study.sweep(
            &format!("{hold} mV at {lowest} to {highest} mV"),
            &shape,
            |raw| {
                let mut coil = held;
                Some(coil.step(true, Some(of(raw))).raw().into())
            },
            |raw, answer| {
                answer.is_some_and(|duty| {
                    let supply = raw.min(highest);
                    if raw < lowest {
                        duty == FULL
                    } else {
                        is_nearest(duty, i128::from(hold * FULL), supply.into())
                    }
                })
            },
        );
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "holding_duty",
        "valve/peak_and_hold",
        "all 65 536 supplies of four corners and 100 seeded coils",
        &[
            "the mean voltage that holds, to the nearest hundredth of a percent",
            "all of a supply below the lowest; above the highest as at the highest",
        ],
        study,
    )
}
