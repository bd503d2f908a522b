//! Formulas against a vocabulary: what is refused, and what units and names come to.

use std::sync::Arc;

use trunnion::quantity::Period;
use trunnion_rig::language::Complaint;
use trunnion_rig::requirement::{Constant, Expression, Monitor, Signal, Verdict, Vocabulary};

fn vocabulary() -> Arc<Vocabulary> {
    let constant = |signal: Signal, value: f64| Constant { signal, value };
    Arc::new(Vocabulary {
        signals: vec![
            Signal::number("drive_current", "mA"),
            Signal::number("true_speed", "km/h"),
            Signal::number("lever", "%"),
            Signal::number("count", ""),
            Signal::number("engine_speed", "rpm"),
            Signal::switch("seat_open"),
            Signal::choice("motion_state", &["at rest", "drive", "spin"]),
            Signal::choice("asked_state", &["at rest", "drive", "spin"]),
            Signal::number("frame", "ticks of a clock"),
        ],
        constants: vec![
            constant(Signal::number("stop_time", "ms"), 1_255.0),
            constant(Signal::number("current_maximum", "mA"), 800.0),
            constant(Signal::choice("start_state", &["at rest", "drive", "spin"]), 1.0),
        ],
        period: Period::from_micros(10_000).unwrap(),
    })
}

fn bind(text: &str) -> Result<Monitor, Complaint> {
    Monitor::new(
        &Expression::parse(text).unwrap_or_else(|complaint| panic!("{text}: {complaint:?}")),
        &vocabulary(),
    )
}

/// The margin, unit and verdict of a formula over one row that repeats.
fn over(text: &str, row: [f64; 9]) -> (Verdict, Option<f64>, String) {
    let mut monitor = bind(text).unwrap_or_else(|complaint| panic!("{text}: {complaint:?}"));
    (0..300).for_each(|_| monitor.push(&row));
    let judgement = monitor.judge(|_| row.to_vec());
    (judgement.verdict, judgement.margin, judgement.unit)
}

#[test]
fn what_does_not_compare_is_refused_at_its_place() {
    for (text, place, what, expected) in [
        ("always drive_current < 3 V", 23, "this is in V and does not compare with mA", "something in mA"),
        (
            "always drive_current < 3",
            23,
            "this is a bare number and does not compare with mA",
            "something in mA",
        ),
        ("always lever < 50", 15, "this is a bare number and does not compare with %", "something in %"),
        (
            "always engine_speed < 40 Hz",
            22,
            "this is in Hz and does not compare with rpm",
            "something in rpm",
        ),
        (
            "always abs(lever) + true_speed < 3 %",
            20,
            "this is in km/h and does not compare with %",
            "something in %",
        ),
        (
            "always drive_current",
            7,
            "`drive_current` is not a yes/no signal",
            "a comparison, such as `drive_current > 0 mA`",
        ),
        (
            "always motion_state",
            7,
            "`motion_state` is not a yes/no signal",
            "a comparison, such as `motion_state = at_rest`",
        ),
        (
            "always motion_state = spn",
            22,
            "there is no choice of `motion_state` called `spn`",
            "did you mean `spin`?",
        ),
        (
            "always motion_state > spin",
            7,
            "`motion_state` is a choice, and choices have no order",
            "`=` or `!=`",
        ),
        (
            "always motion_state + 1 > 3",
            7,
            "`motion_state` is a choice, not a number",
            "`motion_state = at_rest` or a number",
        ),
        ("always seat_open > 0", 7, "`seat_open` is a choice, and choices have no order", "`=` or `!=`"),
        (
            "always abs(seat_open) > 0",
            11,
            "`seat_open` is a yes/no signal, not a number",
            "`seat_open` alone, `not seat_open`, or a number",
        ),
        (
            "always (lever + 3 %)",
            8,
            "`lever + 3 %` is a number, not a condition",
            "a comparison, such as `lever + 3 % > …`",
        ),
        (
            "always (lever > 3 %) + 1 > 2",
            8,
            "`lever > 3 %` is a condition, not a number",
            "a number here; join conditions by `and`, `or`, `implies`",
        ),
        ("always within 3 mA seat_open", 14, "`3 mA` is not a time", "a time such as 1.5 s or 300 ms"),
        (
            "always within 125 ms seat_open",
            14,
            "`125 ms` is not a whole number of ticks of 10 ms",
            "120 ms or 130 ms",
        ),
        (
            "always within current_maximum seat_open",
            14,
            "the parameter `current_maximum` is in mA",
            "a parameter that holds a time",
        ),
        (
            "always within stop_tme seat_open",
            14,
            "there is no parameter `stop_tme`",
            "did you mean `stop_time`?",
        ),
        (
            "always (seat_open implies from 3 s seat_open)",
            26,
            "`from 3 s` counts from the beginning of the run",
            "such a time stands outermost",
        ),
        ("from 3 s to 2 s seat_open", 12, "the time `2 s` is before `3 s`", "a time of the run after 3 s"),
        ("always frame > 3 ticks", 17, "there is no unit `ticks`", ""),
    ] {
        let complaint = match Expression::parse(text) {
            Err(complaint) => complaint,
            Ok(_) => bind(text).expect_err(text),
        };
        assert_eq!((complaint.span.start, complaint.what.as_str()), (place, what), "{text}");
        if !expected.is_empty() {
            assert_eq!(complaint.expected, expected, "{text}");
        }
    }
}

#[test]
fn a_formula_that_forgets_to_say_when_is_refused() {
    for text in [
        "seat_open",
        "lever > 3 %",
        "once seat_open",
        "(always seat_open) or lever > 3 %",
        "seat_open implies within 1 s seat_open",
    ] {
        let complaint = bind(text).expect_err(text);
        assert!(complaint.what.starts_with("this does not say when it must hold"), "{text}: {complaint:?}");
        assert!(complaint.help.starts_with("if it must hold throughout, write `always ("), "{complaint:?}");
    }
}

#[test]
fn margins_are_in_the_unit_of_the_first_signal() {
    let row = [700.0, 36.0, 50.0, 3.0, 1500.0, 1.0, 2.0, 2.0, 5.0];
    for (text, verdict, margin, unit) in [
        ("always drive_current <= 0.75 A", Verdict::Held, 50.0, "mA"),
        ("always 0.75 A >= drive_current", Verdict::Held, 50.0, "mA"),
        ("always true_speed < 9 m/s", Verdict::Violated, -3.6, "km/h"),
        ("always lever > 400 ‰", Verdict::Held, 10.0, "%"),
        ("always abs(engine_speed) < 9600 deg/s", Verdict::Held, 100.0, "rpm"),
        ("always drive_current < current_maximum", Verdict::Held, 100.0, "mA"),
        ("always drive_current < lever * current_maximum", Verdict::Violated, -300.0, "mA"),
        ("always drive_current < 2 * lever * current_maximum - 60 mA", Verdict::Held, 40.0, "mA"),
        ("always lever * lever <= 30 %", Verdict::Held, 5.0, "%"),
        ("always 2 * lever >= 1 * 100 %", Verdict::Held, 0.0, "%"),
        ("always count * 2 = 6", Verdict::Held, 0.0, ""),
        ("always drive_current = 0.69 A ± 15 mA", Verdict::Held, 5.0, "mA"),
        ("always drive_current > 0", Verdict::Held, 700.0, "mA"),
        ("always max(lever, 60 %, 55 %) <= 600 ‰", Verdict::Held, 0.0, "%"),
        ("always rate(true_speed) <= 2 m/s²", Verdict::Held, 7.2, "km/h/s"),
        ("always frame >= 2 * frame - frame", Verdict::Held, 0.0, "ticks of a clock"),
    ] {
        let (found, found_margin, found_unit) = over(text, row);
        let found_margin = found_margin.unwrap();
        assert_eq!(found, verdict, "{text}");
        assert!((found_margin - margin).abs() < 1e-9, "{text}: {found_margin}");
        assert_eq!(found_unit, unit, "{text}");
    }
}

#[test]
fn choices_are_compared_by_name_and_with_each_other() {
    let row = [700.0, 36.0, 50.0, 3.0, 1500.0, 1.0, 2.0, 2.0, 5.0];
    for (text, verdict) in [
        ("always motion_state = spin", Verdict::Held),
        ("always spin = motion_state", Verdict::Held),
        ("always motion_state != at_rest", Verdict::Held),
        ("always motion_state = asked_state", Verdict::Held),
        ("always motion_state = start_state", Verdict::Violated),
        ("always start_state = drive", Verdict::Held),
        ("always seat_open = yes", Verdict::Held),
        ("always (seat_open and not (motion_state changes))", Verdict::Held),
    ] {
        assert_eq!(over(text, row), (verdict, None, String::new()), "{text}");
    }
}

#[test]
fn a_time_with_a_parameter_in_it_is_rounded_up_to_a_tick() {
    // 1255 ms + 10 ms = 126.5 ticks, so 127.
    let formula = Expression::parse("at 0 s after stop_time + 10 ms lever > 0").unwrap();
    let mut monitor = Monitor::new(&formula, &vocabulary()).unwrap();
    let rows: Vec<Vec<f64>> =
        (0..200).map(|tick| vec![0.0, 0.0, f64::from(tick) - 126.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0]).collect();
    rows.iter().for_each(|row| monitor.push(row));
    let judgement = monitor.judge(|tick| rows[tick as usize].clone());
    assert_eq!((judgement.verdict, judgement.margin), (Verdict::Held, Some(0.5)));
}

#[test]
fn what_was_before_the_run_is_no_evidence() {
    let signals = vec![Signal::switch("p"), Signal::switch("q")];
    let period = Period::from_micros(10_000).unwrap();
    let vocabulary = Arc::new(Vocabulary { signals, constants: vec![], period });
    let judge = |text: &str| {
        let mut monitor = Monitor::new(&Expression::parse(text).unwrap(), &vocabulary).unwrap();
        (0..10).for_each(|_| monitor.push(&[1.0, 0.0]));
        monitor.judge(|_| vec![1.0, 0.0])
    };
    let held = judge("always held for 50 ms p");
    assert_eq!(held.verdict, Verdict::Violated, "at the first tick p has not been held for 50 ms");
    assert!(held.explanation.text.contains("the run is too young"), "{:?}", held.explanation);
    assert_eq!(judge("from 50 ms held for 50 ms p").verdict, Verdict::Held);
    assert_eq!(judge("always so far p").verdict, Verdict::Held);
    assert_eq!(judge("always not once within 50 ms q").verdict, Verdict::Held);
    assert_eq!(judge("always not (p rises)").verdict, Verdict::Held, "at the first tick nothing rises");
}
