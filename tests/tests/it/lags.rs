//! First- and second-order lags: the oracle itself, against values that were worked out beforehand.

use approx::assert_abs_diff_eq;
use serde_json::{Value, json};

use crate::oracle::{ask, numbers};

/// The answers of `step_responses.py` to a list of questions; nothing where there is no oracle to ask.
pub fn answers(questions: Value) -> Option<Vec<Value>> {
    let answer = ask("step_responses.py", &json!({ "questions": questions }))?;
    Some(answer["answers"].as_array().expect("a list of answers").clone())
}

/// τ = 0.1 s held for 10 ms: a = e^(−0.1) = 0.90483742, b = 1 − a (any text on sampled systems).
#[test]
fn the_oracle_holds_a_first_order_lag_as_the_exponential_says() {
    let question = json!([{ "kind": "held", "numerator": [1.0], "denominator": [0.1, 1.0], "period": 0.01, "count": 50 }]);
    let Some(answers) = answers(question) else { return };
    assert_abs_diff_eq!(numbers(&answers[0], "numerator")[1], 0.095_162_58, epsilon = 1e-8);
    assert_abs_diff_eq!(numbers(&answers[0], "denominator")[1], -0.904_837_42, epsilon = 1e-8);
    for (index, value) in numbers(&answers[0], "response").into_iter().enumerate() {
        assert_abs_diff_eq!(value, 1.0 - (-0.1 * index as f64).exp(), epsilon = 1e-12);
    }
}

/// Second-order Butterworth low-pass, 5 Hz at 100 Hz: coefficients and step as printed by scipy 1.17.
#[test]
fn the_oracle_designs_the_butterworth_filter_known_from_tables() {
    let question =
        json!([{ "kind": "butterworth", "order": 2, "cutoff_hz": 5.0, "sample_hz": 100.0, "count": 4 }]);
    let Some(answers) = answers(question) else { return };
    let expected = [
        ("numerator", vec![0.020_083_37, 0.040_166_73, 0.020_083_37]),
        ("denominator", vec![1.0, -1.561_018_08, 0.641_351_54]),
        ("response", vec![0.020_083_4, 0.091_600_6, 0.210_443_2, 0.350_090_8]),
    ];
    for (key, values) in expected {
        for (value, wanted) in numbers(&answers[0], key).iter().zip(values) {
            assert_abs_diff_eq!(*value, wanted, epsilon = 1e-7);
        }
    }
}

/// ω_n = 5 rad/s, ζ = 0.4: overshoot e^(−πζ/√(1−ζ²)) = 25.383 % at t = π/(ω_n·√(1−ζ²)) = 0.6856 s.
#[test]
fn the_oracle_overshoots_as_the_damping_ratio_says() {
    let question = json!([{
        "kind": "step", "numerator": [25.0], "denominator": [1.0, 4.0, 25.0], "period": 0.0001, "count": 20_000
    }]);
    let Some(answers) = answers(question) else { return };
    let response = numbers(&answers[0], "response");
    let (at, peak) = response.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).expect("a response");
    assert_abs_diff_eq!(peak - 1.0, 0.253_83, epsilon = 1e-5);
    assert_abs_diff_eq!(at as f64 * 0.0001, 0.685_6, epsilon = 1e-4);
}
