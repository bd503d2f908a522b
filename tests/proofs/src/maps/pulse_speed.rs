//! Speed from the time between edges.

use trunnion::quantity::{Millis, Period, Rpm};
use trunnion::sense::{Flaw, PulseSpeed, PulseSpeedConfig, Reading};

use super::{Seeded, entry};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{ANY_CHANGE, Order, Shape, Study};

/// Edges a microsecond of one tooth, in eighths of a revolution a minute: 60 s · 10⁶ · 8.
const EIGHTHS: i64 = 480_000_000;

#[derive(Debug, Clone, Copy)]
struct Rules {
    teeth: i64,
    edges: i64,
    fastest: i64,
}

/// To nearest, ties up: all are positive. The products stay below 2⁵⁰.
fn exact(rules: Rules, micros: i64) -> Option<i64> {
    let divisor = micros * rules.teeth;
    if divisor == 0 {
        return None;
    }
    let speed = (2 * EIGHTHS * rules.edges + divisor) / (2 * divisor);
    (speed <= rules.fastest).then_some(speed)
}

fn study(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "pulse_speed");
    let whole =
        [Rules { teeth: 60, edges: 1, fastest: 28_000 }, Rules { teeth: 120, edges: 24, fastest: 28_000 }];
    let mut seeded = Seeded(13);
    let random = (0..40).map(|_| Rules {
        teeth: seeded.between(1, 1_000),
        edges: seeded.between(1, 200),
        fastest: seeded.between(8, 32_000),
    });
    for (place, rules) in whole.into_iter().chain(random.collect::<Vec<_>>()).enumerate() {
        let config = PulseSpeedConfig {
            teeth: rules.teeth as u16,
            zero_speed_after: Millis::millis(10_000),
            fastest: Rpm::saturating(rules.fastest),
        };
        let period = Period::from_micros(10_000).expect("a period in range");
        let mut turning =
            PulseSpeed::new(config, period).unwrap_or_else(|error| panic!("{rules:?}: {error}"));
        // The first edge after standstill has no predecessor; the second is measured from it.
        turning.step(0, 0);
        turning.step(1, 7);
        let at = |raw: i64| {
            let mut speed = turning;
            match speed.step(1 + rules.edges as u16, 7_u32.wrapping_add(raw as u32)) {
                Reading::Valid(speed) => Some(speed.raw().into()),
                Reading::Faulted(Flaw::TooFast) => None,
                Reading::Faulted(other) => panic!("no pickup tells {other:?} here"),
            }
        };
        let nearest_too_fast = EIGHTHS * rules.edges / rules.teeth / rules.fastest;
        let shape = Shape {
            domain: (0, u32::MAX.into()),
            bounds: (0, rules.fastest),
            order: Order::Falls,
            odd: false,
            largest_change: ANY_CHANGE,
            breakpoints: vec![nearest_too_fast],
        };
        let right = |raw, answer| answer == exact(rules, raw);
        if place < whole.len() {
            study.sweep(&format!("{rules:?}"), &shape, at, right);
        } else {
            study.sample(&format!("{rules:?}"), &shape, at, right);
        }
    }
    study.conclude()
}

pub(super) fn proof() -> Proof {
    entry(
        "pulse_speed",
        "sense/pulse_speed",
        "all 2³² microseconds: 60 teeth with 1 edge and 120 teeth with 24 edges a step; 40 seeded wheels by stride",
        &[
            "60 · f / z to the nearest eighth of a revolution a minute",
            "too fast above the fastest speed, and for edges in no time",
            "falls as the time grows; stamps that wrap do not matter",
        ],
        study,
    )
}
