//! Maps of a shaft's speed: steer authority, overspeed, droop of the engine.

use trunnion::propel::{
    AntiStall, AntiStallConfig, Overspeed, OverspeedConfig, SteerAuthority, SteerAuthorityConfig,
};
use trunnion::quantity::{Millis, Period, Ratio, Rpm};
use trunnion::sense::{Flaw, Reading};

use super::{ONE, Seeded, bits, edge, entry, permille};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study};

const SPEEDS: (i64, i64) = (-524_288, 524_287);
const PERIOD: Period = Period::from_micros(10_000).unwrap();

fn rpm(raw: i64) -> Reading<Rpm> {
    Reading::Valid(Rpm::saturating(raw))
}

fn level(bounds: (i64, i64), order: Order, largest_change: i64, breakpoints: Vec<i64>) -> Shape {
    Shape { domain: SPEEDS, bounds, order, odd: false, largest_change, breakpoints }
}

/// On the line from `at_low` thousandths at `low` to `at_high` at `high`, level beyond, to so many steps of 2⁻³⁰.
fn is_near_line(
    x: i64,
    (low, at_low): (i64, i64),
    (high, at_high): (i64, i64),
    output: i64,
    steps: i128,
) -> bool {
    let width = i128::from(high - low);
    let along = i128::from(x.max(low).min(high) - low);
    let exact = i128::from(ONE) * (i128::from(at_low) * width + i128::from(at_high - at_low) * along);
    (i128::from(output) * 1000 * width - exact).abs() <= steps * 1000 * width
}

fn steer_authority(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "steer_authority");
    let mut seeded = Seeded(16);
    let mut family = vec![(400, 2_000, 400), (0, 1, 50), (0, SPEEDS.1, 1000), (524_286, 524_287, 50)];
    family.extend((0..60).map(|_| {
        let slow = seeded.between(0, 40_000);
        (slow, seeded.between(slow + 1, 80_000), seeded.between(50, 1000))
    }));
    for (slow, fast, floor) in family {
        let [slow_rpm, fast_rpm] = [slow, fast].map(Rpm::saturating);
        let config = SteerAuthorityConfig { slow: slow_rpm, fast: fast_rpm, floor: permille(floor) };
        let authority = SteerAuthority::new(config).expect("corners in range");
        let shape = level(
            (edge(floor) - 1, ONE),
            Order::Free,
            ONE / (fast - slow) + 2,
            vec![slow, fast, -slow, -fast],
        );
        study.sweep(
            &format!("{slow} to {fast}, {floor} ‰"),
            &shape,
            |raw| Some(bits(authority.step(Ratio::ONE, rpm(raw)))),
            |raw, answer| {
                // The magnitude of the least speed is beyond the largest one that there is.
                let speed = raw.abs().min(SPEEDS.1);
                answer.is_some_and(|output| is_near_line(speed, (slow, 1000), (fast, floor), output, 2))
            },
        );
        let blind = authority.step(Ratio::ONE, Reading::Faulted(Flaw::Silent));
        study.demand(bits(blind) <= edge(floor) + 1, "without a speed more than the floor acts");
    }
    study.conclude()
}

fn overspeed(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "overspeed");
    let mut seeded = Seeded(17);
    let mut family = vec![(22_400, 25_600), (1, 2), (1, SPEEDS.1), (524_286, 524_287)];
    family.extend((0..60).map(|_| {
        let begin = seeded.between(1, 40_000);
        (begin, seeded.between(begin + 1, 80_000))
    }));
    for (begin, full) in family {
        let [begin_rpm, full_rpm] = [begin, full].map(Rpm::saturating);
        let config = OverspeedConfig { begin: begin_rpm, full: full_rpm, release: Millis::millis(1_000) };
        let fresh = Overspeed::new(config, PERIOD).expect("speeds in range");
        let shape = level((0, ONE), Order::Free, ONE / (full - begin) + 1, vec![begin, full, -begin, -full]);
        study.sweep(
            &format!("{begin} to {full}"),
            &shape,
            |raw| {
                let mut overspeed = fresh;
                Some(bits(overspeed.step(rpm(raw)).retard))
            },
            |raw, answer| {
                let speed = raw.abs().min(SPEEDS.1);
                answer.is_some_and(|output| is_near_line(speed, (begin, 0), (full, 1000), output, 1))
            },
        );
    }
    study.conclude()
}

fn anti_stall(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "anti_stall");
    let mut seeded = Seeded(18);
    let mut family =
        vec![(16_000, 100, 300, 200), (8, 10, 11, 0), (SPEEDS.1, 500, 900, 900), (0, 100, 300, 200)];
    family.extend((0..60).map(|_| {
        let begin = seeded.between(10, 500);
        (seeded.between(8, 32_000), begin, seeded.between(begin + 1, 900), seeded.between(0, 900))
    }));
    for (expected, begin, full, floor) in family {
        let config = AntiStallConfig {
            begin: permille(begin),
            full: permille(full),
            floor: permille(floor),
            recovery: Millis::millis(10_000),
        };
        let fresh = AntiStall::new(config, PERIOD).expect("values in range");
        let steepest = if expected > 0 { ONE / expected * 1000 / (full - begin) + ONE / expected } else { 0 };
        let shape = level((edge(floor) - 1, ONE), Order::Rises, steepest + 3, vec![expected, 0]);
        study.sweep(
            &format!("{expected} expected, {begin} to {full} ‰, floor of {floor} ‰"),
            &shape,
            |raw| {
                let mut anti_stall = fresh;
                Some(bits(anti_stall.step(Rpm::saturating(expected), rpm(raw))))
            },
            |raw, answer| {
                let Some(output) = answer else { return false };
                if expected <= 0 {
                    return (output - edge(floor)).abs() <= 1;
                }
                // In thousandths of the expected speed, so that the corners are whole numbers.
                let droop = (expected - raw).min(SPEEDS.1) * 1000;
                let corners = ((begin * expected, 1000), (full * expected, floor));
                // The droop is rounded to half a step, and steepened by the slope of up to 1000 / (full − begin).
                is_near_line(droop, corners.0, corners.1, output, i128::from(4 + 2 * 1000 / (full - begin)))
            },
        );
    }
    study.conclude()
}

pub(super) fn proofs() -> Vec<Proof> {
    vec![
        entry(
            "steer_authority",
            "propel/steer_authority",
            "all 2²⁰ speeds: a common pair of corners, three extremes, 60 seeded ones; full steer",
            &[
                "all of the steer up to the slow speed, the floor from the fast one on, straight in between",
                "both ways of travel alike; without a speed the floor",
            ],
            steer_authority,
        ),
        entry(
            "overspeed",
            "propel/overspeed",
            "all 2²⁰ speeds: a common pair of speeds, three extremes, 60 seeded ones; from rest",
            &[
                "nothing up to the first speed, all from the second on, straight in between",
                "either way of turning",
            ],
            overspeed,
        ),
        entry(
            "anti_stall",
            "propel/anti_stall",
            "all 2²⁰ engine speeds: a common rule, three extremes, 60 seeded ones; from the full share",
            &[
                "nothing is taken up to the first droop, the floor from the second on, straight in between",
                "never below the floor; where no speed is expected, the floor",
            ],
            anti_stall,
        ),
    ]
}
