//! A 4–20 mA transmitter over a shunt.

use trunnion::quantity::{Centiohms, Microamps, Millivolts};
use trunnion::sense::{CurrentLoopSensor, CurrentLoopSensorConfig, Flaw, LoopBands, Reading};

use super::{ONE, Seeded, bits, entry};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{ANY_CHANGE, Order, Shape, Study, is_nearest};

/// Bands in microamperes, shunt in hundredths of an ohm.
#[derive(Debug, Clone, Copy)]
struct Rules {
    bands: [i64; 4],
    shunt: i64,
}

/// NAMUR NE 43 as it is quoted publicly: faulted below 3.6 mA and above 21 mA.
const NE_43: [i64; 4] = [3_600, 4_000, 20_000, 21_000];
const WIRE_BREAK: i64 = -1;
const SHORT_CIRCUIT: i64 = -2;

/// mV · 10⁵ / (Ω / 100) is µA: compared with both sides multiplied by the shunt.
fn is_right(rules: Rules, drop: i64, answer: i64) -> bool {
    let [low_fault, low, high, high_fault] = rules.bands.map(|current| current * rules.shunt);
    let current = drop * 100_000;
    if current < low_fault {
        answer == WIRE_BREAK
    } else if current > high_fault {
        answer == SHORT_CIRCUIT
    } else {
        let held = current.max(low).min(high) - low;
        is_nearest(answer, i128::from(held) * i128::from(ONE), (high - low).into())
    }
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "current_loop_sensor");
    let mut seeded = Seeded(10);
    let shunts = if study.is_whole() { 2_000 } else { 40 };
    let mut family: Vec<Rules> = [1_000, 10_000, 25_000, 49_900, 60_000]
        .into_iter()
        .chain((0..shunts).map(|_| seeded.between(1_000, 60_000)))
        .map(|shunt| Rules { bands: NE_43, shunt })
        .collect();
    family.push(Rules { bands: [1, 2, 3, 4], shunt: 1_000 });
    family.push(Rules { bands: [1, 2, 65_534, 65_535], shunt: 60_000 });
    for rules in family {
        let [low_fault, low, high, high_fault] = rules.bands.map(Microamps::saturating);
        let bands = LoopBands { low_fault, low, high, high_fault };
        study
            .demand(rules.bands != NE_43 || bands == LoopBands::NAMUR_NE_43, "the bands of NE 43 are others");
        let config = CurrentLoopSensorConfig { shunt: Centiohms::saturating(rules.shunt), bands };
        let sensor = CurrentLoopSensor::new(config).unwrap_or_else(|error| panic!("{rules:?}: {error}"));
        let shape = Shape {
            domain: (0, 65_535),
            bounds: (SHORT_CIRCUIT, ONE),
            order: Order::Free,
            odd: false,
            largest_change: ANY_CHANGE,
            breakpoints: vec![],
        };
        study.sweep(
            &format!("{rules:?}"),
            &shape,
            |raw| {
                Some(match sensor.step(Millivolts::saturating(raw)) {
                    Reading::Valid(share) => bits(share),
                    Reading::Faulted(Flaw::WireBreak) => WIRE_BREAK,
                    Reading::Faulted(Flaw::ShortCircuit) => SHORT_CIRCUIT,
                    Reading::Faulted(other) => panic!("no such sensor tells {other:?}"),
                })
            },
            |raw, answer| answer.is_some_and(|answer| is_right(rules, raw, answer)),
        );
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "current_loop_sensor",
        "sense/current_loop_sensor",
        "all 65 536 millivolts: NE 43 with 5 common and 2000 seeded shunts, and two corners of the bands",
        &[
            "below 3.6 mA a wire break, above 21 mA a short circuit, without rounding in between",
            "in between the share of the span, to nearest with ties away from zero, resting at its ends",
        ],
        study,
    )
}
