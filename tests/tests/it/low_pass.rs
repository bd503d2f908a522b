//! The core's low pass in whole steps of a quantity against scipy's first-order lag, sampled and held.
//!
//! Checks: sense/low_pass

use serde_json::json;
use trunnion::declare::Field;
use trunnion::quantity::{Celsius, Millis, Millivolts, Period, Rpm};
use trunnion::sense::{LowPass, LowPassConfig};

use crate::{lags::answers, oracle::numbers};

/// Time constant in ms, period in µs.
const CASES: [(u32, u32); 6] =
    [(100, 10_000), (10, 10_000), (10_000, 10_000), (25, 10_000), (1_000, 1_000), (7, 2_500)];
const COUNT: usize = 4000;

/// Largest difference from scipy in raw steps: a step from `low` to `high` and back.
fn largest_difference<Q: Field>(case: (u32, u32), low: i64, high: i64, unit_step: &[f64]) -> f64 {
    let (time_constant, period) = case;
    let config = LowPassConfig { time_constant: Millis::millis(time_constant) };
    let mut filter = LowPass::<Q>::new(config, Period::from_micros(period).unwrap()).unwrap();
    let quantity = |raw: i64| Q::from_raw(raw).expect("inside the range");
    assert_eq!(filter.step(quantity(low)).to_raw(), low, "the first value is taken as it is");
    let mut largest = 0.0_f64;
    let mut level = low as f64;
    for target in [high, low] {
        let (from, way) = (level, target as f64 - level);
        for share in &unit_step[1..] {
            level = from + way * share;
            let found = filter.step(quantity(target)).to_raw();
            largest = largest.max((found as f64 - level).abs());
        }
    }
    largest
}

/// Half a step is the rounding of the output; what rounding leaves inside is at most half of 1/2048 in each step,
/// which over the memory of a filter of 1000 periods adds up to a quarter.
#[test]
fn the_low_pass_follows_scipy_to_three_quarters_of_a_step() {
    let questions: Vec<_> = CASES
        .iter()
        .map(|(time_constant, period)| {
            let (lag, period) = (f64::from(*time_constant) / 1e3, f64::from(*period) / 1e6);
            json!({
                "kind": "held", "numerator": [1.0], "denominator": [lag, 1.0], "period": period, "count": COUNT
            })
        })
        .collect();
    let Some(answers) = answers(json!(questions)) else { return };
    for (case, answer) in CASES.into_iter().zip(&answers) {
        let unit_step = numbers(answer, "response");
        for largest in [
            largest_difference::<Celsius>(case, -400, 1_200, &unit_step),
            largest_difference::<Millivolts>(case, 0, 65_535, &unit_step),
            largest_difference::<Rpm>(case, -500_000, 500_000, &unit_step),
        ] {
            assert!(largest <= 0.75, "{case:?}: {largest} steps");
        }
    }
}

/// Without the oracle: after one time constant 1 − 1/e of a step have come through, after five 1 − 1/e⁵.
#[test]
fn after_one_time_constant_63_percent_have_come_through() {
    let config = LowPassConfig { time_constant: Millis::millis(500) };
    let mut filter = LowPass::<Millivolts>::new(config, Period::from_micros(10_000).unwrap()).unwrap();
    filter.step(Millivolts::ZERO);
    for step in 1..=250_u16 {
        let found = f64::from(filter.step(Millivolts::new(10_000).unwrap()).raw());
        let expected = 10_000.0 * (1.0 - (-f64::from(step) / 50.0).exp());
        assert!((found - expected).abs() <= 0.75, "{step}: {found} instead of {expected}");
    }
}
