//! Frequency, period and speed of a toothed wheel, and speed from captured periods.

use trunnion::quantity::{Hertz, Millis, Period, Rpm, SignalPeriod};
use trunnion::sense::{Flaw, PeriodSpeed, PeriodSpeedConfig, Reading};

use super::{Seeded, entry};
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{ANY_CHANGE, Order, Shape, Study, is_nearest};

/// Thousandths of a hertz, and tenths of a microsecond.
const HERTZ: (i64, i64) = (0, 1_000_000_000);
const TENTHS: (i64, i64) = (0, 1_000_000_000);
const SPEEDS: (i64, i64) = (-524_288, 524_287);
/// One of a cycle's pair times the other.
const CYCLE: i64 = 10_000_000_000;
/// Eighths of a revolution a minute of one tooth in a tenth of a microsecond: 60 s · 8 · 10⁷.
const EIGHTHS: i64 = 4_800_000_000;

fn falling(domain: (i64, i64), bounds: (i64, i64)) -> Shape {
    Shape {
        domain,
        bounds,
        order: Order::Falls,
        odd: false,
        largest_change: ANY_CHANGE,
        breakpoints: vec![10, 100],
    }
}

/// The nearest of `CYCLE / raw`, or none where there is none in the range.
fn is_reciprocal(raw: i64, most: i64, answer: Option<i64>) -> bool {
    match answer {
        Some(other) => raw > 0 && (1..=most).contains(&other) && is_nearest(other, CYCLE.into(), raw.into()),
        // Half a step beyond the largest is beyond it.
        None => raw == 0 || 2 * CYCLE >= (2 * most + 1) * raw,
    }
}

fn cycle(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "frequency_and_period");
    study.sweep(
        "period of a frequency",
        &falling(HERTZ, TENTHS),
        |raw| Hertz::saturating(raw).period().map(|period| period.raw().into()),
        |raw, answer| is_reciprocal(raw, TENTHS.1, answer),
    );
    study.sweep(
        "frequency of a period",
        &falling(TENTHS, HERTZ),
        |raw| SignalPeriod::saturating(raw).frequency().map(|hertz| hertz.raw().into()),
        |raw, answer| is_reciprocal(raw, HERTZ.1, answer),
    );
    study.conclude()
}

fn wheel(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "wheel_frequency");
    let mut seeded = Seeded(23);
    let teeth: Vec<i64> =
        [1, 60, 65_535].into_iter().chain((0..20).map(|_| seeded.between(1, 500))).collect();
    for teeth in teeth {
        let shape = Shape { order: Order::Free, ..falling(SPEEDS, HERTZ) };
        study.sweep(
            &format!("{teeth} teeth, from speed"),
            &shape,
            |raw| Some(Hertz::of_wheel(Rpm::saturating(raw), teeth as u16).raw().into()),
            |raw, answer| {
                // The magnitude of the least speed is held at the largest.
                let exact = i128::from(raw.abs().min(SPEEDS.1)) * i128::from(teeth) * 25;
                answer.is_some_and(|hertz| {
                    is_nearest(hertz, exact, 12) || (hertz == HERTZ.1 && exact > 12 * i128::from(HERTZ.1))
                })
            },
        );
        let shape = Shape { order: Order::Rises, ..falling(HERTZ, SPEEDS) };
        study.sample(
            &format!("{teeth} teeth, from frequency"),
            &shape,
            |raw| Rpm::of_wheel(Hertz::saturating(raw), teeth as u16).map(|speed| speed.raw().into()),
            |raw, answer| {
                let (exact, whole) = (i128::from(raw) * 12, i128::from(25 * teeth));
                answer.is_some_and(|speed| {
                    is_nearest(speed, exact, whole)
                        || (speed == SPEEDS.1 && exact > whole * i128::from(SPEEDS.1))
                })
            },
        );
    }
    study.conclude()
}

fn period_speed(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "period_speed");
    let mut seeded = Seeded(24);
    let mut family = vec![(60, 28_000), (1, 32)];
    family.extend((0..40).map(|_| (seeded.between(1, 500), seeded.between(8, 32_000))));
    for (place, (teeth, fastest)) in family.into_iter().enumerate() {
        let config = PeriodSpeedConfig {
            teeth: teeth as u16,
            zero_speed_after: Millis::millis(1_000),
            fastest: Rpm::saturating(fastest),
            glitches: 0,
        };
        let period = Period::from_micros(10_000).expect("a period in range");
        let fresh = PeriodSpeed::new(config, period).expect("a wheel in range");
        let at = |raw: i64| {
            let mut speed = fresh;
            match speed.step(Some(SignalPeriod::saturating(raw))) {
                Reading::Valid(speed) => Some(i64::from(speed.raw())),
                Reading::Faulted(Flaw::TooFast) => None,
                Reading::Faulted(other) => panic!("no pickup tells {other:?} here"),
            }
        };
        let right = |raw: i64, answer: Option<i64>| {
            let divisor = raw * teeth;
            match answer {
                Some(speed) => divisor > 0 && is_nearest(speed, EIGHTHS.into(), divisor.into()),
                None => divisor == 0 || 2 * EIGHTHS >= (2 * fastest + 1) * divisor,
            }
        };
        let shape = Shape { breakpoints: vec![EIGHTHS / teeth / fastest], ..falling(TENTHS, (0, fastest)) };
        let label = format!("{teeth} teeth, {fastest} eighths at most");
        if place < 2 {
            study.sweep(&label, &shape, at, right);
        } else {
            study.sample(&label, &shape, at, right);
        }
    }
    study.conclude()
}

pub(super) fn proofs() -> Vec<Proof> {
    vec![
        entry(
            "frequency_and_period",
            "quantity/frequency",
            "all 10⁹ + 1 frequencies and all 10⁹ + 1 periods",
            &["each the reciprocal of the other, to nearest; none where it is out of range", "falling"],
            cycle,
        ),
        entry(
            "wheel_frequency",
            "quantity/frequency",
            "all 2²⁰ speeds and, by stride, all frequencies: 1, 60, 65 535 and 20 seeded numbers of teeth",
            &["n · z / 60 and back, to nearest with ties away from zero, held in range"],
            wheel,
        ),
        entry(
            "period_speed",
            "sense/period_speed",
            "all 10⁹ + 1 captured periods of wheels with 60 teeth and with 1; 40 seeded wheels by stride",
            &[
                "60 / (T · z) to the nearest eighth of a revolution a minute",
                "too fast above the fastest speed",
            ],
            period_speed,
        ),
    ]
}
