//! A sensor whose voltage is a share of its supply.

use trunnion::quantity::Millivolts;
use trunnion::sense::{Flaw, RatiometricSensor, RatiometricSensorConfig, Reading};

use super::{ONE, Seeded, bits, entry, permille};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{ANY_CHANGE, Order, Shape, Study, is_nearest};

/// Bands in thousandths, supply in millivolts.
#[derive(Debug, Clone, Copy)]
struct Rules {
    bands: [i64; 4],
    supply: (i64, i64),
}

const CORNERS: [Rules; 4] = [
    Rules { bands: [40, 100, 900, 960], supply: (4_750, 5_250) },
    Rules { bands: [0, 1, 2, 3], supply: (1, 65_535) },
    Rules { bands: [0, 1, 999, 1000], supply: (8_000, 32_000) },
    Rules { bands: [997, 998, 999, 1000], supply: (65_534, 65_535) },
];

/// A flaw as a number below all shares, so that one map tells which it is.
const WIRE_BREAK: i64 = -1;
const SHORT_CIRCUIT: i64 = -2;
const SENSOR_SUPPLY: i64 = -3;

fn raw_of(reading: Reading<trunnion::quantity::Ratio>) -> i64 {
    match reading {
        Reading::Valid(share) => bits(share),
        Reading::Faulted(Flaw::WireBreak) => WIRE_BREAK,
        Reading::Faulted(Flaw::ShortCircuit) => SHORT_CIRCUIT,
        Reading::Faulted(Flaw::SensorSupply) => SENSOR_SUPPLY,
        Reading::Faulted(other) => panic!("no such sensor tells {other:?}"),
    }
}

fn is_right(rules: Rules, signal: i64, supply: i64, answer: i64) -> bool {
    let [low_fault, low, high, high_fault] = rules.bands.map(|band| band * supply);
    let signal = signal * 1000;
    if supply < rules.supply.0 || supply > rules.supply.1 {
        answer == SENSOR_SUPPLY
    } else if signal < low_fault {
        answer == WIRE_BREAK
    } else if signal > high_fault {
        answer == SHORT_CIRCUIT
    } else {
        let held = signal.max(low).min(high) - low;
        is_nearest(answer, i128::from(held) * i128::from(ONE), (high - low).into())
    }
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "ratiometric");
    let mut seeded = Seeded(9);
    let random = (0..20).map(|_| {
        let mut bands = [0; 4].map(|_| seeded.between(0, 250));
        for place in 1..4 {
            bands[place] = bands[place - 1] + 1 + seeded.between(0, 249);
        }
        let low = seeded.between(1, 60_000);
        Rules { bands, supply: (low, seeded.between(low + 1, 65_535)) }
    });
    for rules in CORNERS.into_iter().chain(random.collect::<Vec<_>>()) {
        let [low_fault, low, high, high_fault] = rules.bands.map(permille);
        let [supply_low, supply_high] = [rules.supply.0, rules.supply.1].map(Millivolts::saturating);
        let config = RatiometricSensorConfig { low_fault, low, high, high_fault, supply_low, supply_high };
        let sensor = RatiometricSensor::new(config).unwrap_or_else(|error| panic!("{rules:?}: {error}"));
        let step = |signal, supply| {
            raw_of(sensor.step(Millivolts::saturating(signal), Millivolts::saturating(supply)))
        };
        let shape = |order| Shape {
            domain: (0, 65_535),
            bounds: (SENSOR_SUPPLY, ONE),
            order,
            odd: false,
            largest_change: ANY_CHANGE,
            breakpoints: vec![],
        };
        let width = rules.supply.1 - rules.supply.0;
        let stride = if study.is_whole() { (width / 500).max(1) } else { (width / 3).max(1) };
        for supply in (rules.supply.0..=rules.supply.1).step_by(stride as usize) {
            study.sweep(
                &format!("{rules:?} at {supply} mV"),
                &shape(Order::Free),
                |signal| Some(step(signal, supply)),
                |signal, answer| answer.is_some_and(|answer| is_right(rules, signal, supply, answer)),
            );
        }
        for signal in [0, 500, 2_500, 65_535] {
            study.sweep(
                &format!("{rules:?}, signal of {signal} mV"),
                &shape(Order::Free),
                |supply| Some(step(signal, supply)),
                |supply, answer| answer.is_some_and(|answer| is_right(rules, signal, supply, answer)),
            );
        }
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "ratiometric",
        "sense/ratiometric",
        "all 65 536 signals at up to 500 supplies, all supplies at 4 signals; four corners and 20 seeded sensors",
        &[
            "below and above its bands a wire break and a short circuit, to the last millivolt",
            "a supply outside its range says nothing",
            "in between the share of the span, to nearest with ties away from zero, resting at its ends",
        ],
        study,
    )
}
