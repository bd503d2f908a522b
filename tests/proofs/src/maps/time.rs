//! Times counted in periods, and the display of an hour meter.

use trunnion::quantity::{Millis, Period};
use trunnion::timing::{HourMeter, Seconds};

use super::entry;
use crate::proof::{Bench, Outcome, Proof};
use crate::sweep::{Order, Shape, Study};

const ALL: (i64, i64) = (0, u32::MAX as i64);

fn rising(largest_change: i64, breakpoints: Vec<i64>) -> Shape {
    Shape { domain: ALL, bounds: ALL, order: Order::Rises, odd: false, largest_change, breakpoints }
}

fn steps(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "period_steps");
    for micros in [100_i64, 10_000, 33_333, 1_000_000] {
        let period = Period::from_micros(micros as u32).expect("a period in range");
        let held = ALL.1 * micros / 1000;
        study.sweep(
            &format!("{micros} µs"),
            &rising(1000 / micros + 1, vec![micros / 1000, held]),
            |raw| Some(period.steps(Millis::from_ticks(raw as u32)).into()),
            |raw, answer| {
                // The least number of periods that lasts as long, held at the largest that there is.
                answer.is_some_and(|steps| {
                    let enough = steps * micros >= raw * 1000 || steps == ALL.1;
                    enough && (steps == 0 || (steps - 1) * micros < raw * 1000)
                })
            },
        );
    }
    study.conclude()
}

fn hours(bench: &Bench<'_>) -> Outcome {
    let mut study = Study::new(bench, "hour_meter");
    let period = Period::from_micros(10_000).expect("a period in range");
    study.sweep(
        "all seconds",
        &rising(1, vec![360, 3600]),
        |raw| Some(HourMeter::new(Seconds::from_ticks(raw as u32), period).tenths_of_an_hour().into()),
        |raw, answer| answer.is_some_and(|tenths| tenths * 360 <= raw && raw < (tenths + 1) * 360),
    );
    study.conclude()
}

pub(super) fn proofs() -> Vec<Proof> {
    vec![
        entry(
            "period_steps",
            "quantity/time",
            "all 2³² milliseconds at 100 µs, 10 ms, 33.333 ms and 1 s",
            &["the least number of periods that is never shorter, held at the largest number", "monotone"],
            steps,
        ),
        entry(
            "hour_meter",
            "timing/hour_meter",
            "all 2³² seconds",
            &["tenths of an hour, rounded down"],
            hours,
        ),
    ]
}
