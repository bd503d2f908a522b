use std::sync::Arc;

use proptest::prelude::*;
use trunnion::quantity::Period;
use trunnion_rig::requirement::{Expression, Judgement, Monitor, Signal, Verdict, Vocabulary};

use crate::definition::{Atom, Formula, Row, Worth};

fn vocabulary() -> Arc<Vocabulary> {
    Arc::new(Vocabulary {
        signals: vec![
            Signal::number("x", "mA"),
            Signal::number("y", "mA"),
            Signal::switch("p"),
            Signal::switch("q"),
            Signal::choice("mode", &["rest", "drive", "spin"]),
        ],
        constants: vec![],
        period: Period::from_micros(10_000).unwrap(),
    })
}

fn judge(text: &str, vocabulary: &Arc<Vocabulary>, rows: &[Vec<f64>]) -> Judgement {
    let formula = Expression::parse(text).unwrap_or_else(|complaint| panic!("{text}: {complaint:?}"));
    let mut monitor =
        Monitor::new(&formula, vocabulary).unwrap_or_else(|complaint| panic!("{text}: {complaint:?}"));
    for row in rows {
        monitor.push(row);
    }
    monitor.judge(|tick| rows[tick as usize].clone())
}

fn rows() -> impl Strategy<Value = Vec<Row>> {
    let row = (-6..6_i32, -6..6_i32, any::<bool>(), any::<bool>(), 0..3_u8);
    prop::collection::vec(row.prop_map(|(x, y, p, q, mode)| Row { x, y, p, q, mode }), 1..25)
}

fn atom() -> impl Strategy<Value = Formula> {
    let relation = prop::sample::select(vec!["<", "<=", ">", ">=", "=", "!="]);
    prop_oneof![
        1 => any::<bool>().prop_map(Atom::Constant),
        2 => Just(Atom::P),
        2 => Just(Atom::Q),
        1 => (0..3_u8).prop_map(Atom::Mode),
        1 => Just(Atom::ModeChanges),
        6 => (relation, 0..6).prop_map(|(relation, limit)| Atom::X(relation, limit)),
        2 => (any::<bool>(), 0..4).prop_map(|(equal, width)| Atom::Near(equal, width)),
        1 => (0..6).prop_map(Atom::Step),
        1 => (0..6).prop_map(Atom::Mixed),
    ]
    .prop_map(Formula::Atom)
}

/// Formulas that may stand anywhere.
fn inner() -> impl Strategy<Value = Formula> {
    atom().prop_recursive(5, 24, 3, |part| {
        let b = || part.clone().prop_map(Box::new);
        let ticks = 0..6_usize;
        let bound = prop::option::of(0..6_usize);
        let several = prop::collection::vec(part.clone(), 2..4);
        prop_oneof![
            b().prop_map(Formula::Not),
            several.clone().prop_map(Formula::And),
            several.prop_map(Formula::Or),
            (b(), b()).prop_map(|(x, y)| Formula::Implies(x, y)),
            b().prop_map(Formula::Always),
            b().prop_map(Formula::Eventually),
            (ticks.clone(), b()).prop_map(|(d, f)| Formula::For(d, f)),
            (ticks.clone(), b()).prop_map(|(d, f)| Formula::Within(d, f)),
            (ticks.clone(), b()).prop_map(|(d, f)| Formula::After(d, f)),
            b().prop_map(Formula::Once),
            b().prop_map(Formula::SoFar),
            (ticks.clone(), b()).prop_map(|(d, f)| Formula::OnceWithin(d, f)),
            (ticks, b()).prop_map(|(d, f)| Formula::HeldFor(d, f)),
            (bound.clone(), b(), b()).prop_map(|(d, x, y)| Formula::Until(d, x, y)),
            (bound, b(), b()).prop_map(|(d, x, y)| Formula::Since(d, x, y)),
            b().prop_map(Formula::Rises),
            b().prop_map(Formula::Falls),
        ]
    })
}

/// Formulas that say when they must hold.
fn outer() -> impl Strategy<Value = Formula> {
    let b = || inner().prop_map(Box::new);
    let ticks = 0..12_usize;
    let timed = prop_oneof![
        4 => b().prop_map(Formula::Always),
        1 => b().prop_map(Formula::Eventually),
        1 => (ticks.clone(), b()).prop_map(|(d, f)| Formula::For(d, f)),
        1 => (ticks.clone(), b()).prop_map(|(d, f)| Formula::Within(d, f)),
        1 => (ticks.clone(), b()).prop_map(|(d, f)| Formula::After(d, f)),
        1 => (prop::option::of(0..6_usize), b(), b()).prop_map(|(d, x, y)| Formula::Until(d, x, y)),
        2 => (ticks.clone(), prop::option::of(0..6_usize), b())
            .prop_map(|(first, more, f)| Formula::From(first, more.map(|more| first + more), f)),
        1 => (ticks, b()).prop_map(|(t, f)| Formula::At(t, f)),
    ];
    timed.prop_recursive(2, 6, 2, |part| {
        let b = || part.clone().prop_map(Box::new);
        let several = || prop::collection::vec(part.clone(), 2..3);
        prop_oneof![
            b().prop_map(Formula::Not),
            several().prop_map(Formula::And),
            several().prop_map(Formula::Or),
            (b(), b()).prop_map(|(x, y)| Formula::Implies(x, y)),
        ]
    })
}

fn finite(worth: Worth) -> Option<f64> {
    Some(worth.0).filter(|margin| margin.is_finite())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4_000, ..ProptestConfig::default() })]

    #[test]
    fn a_monitor_judges_as_the_definition_does(formula in outer(), rows in rows()) {
        let text = formula.to_string();
        let worth = formula.worth(&rows, 0);
        let values: Vec<Vec<f64>> = rows.iter().map(|row| row.values()).collect();
        let judgement = judge(&text, &vocabulary(), &values);
        let verdict = match (worth.low.1, worth.high.1) {
            (true, _) => Verdict::Held,
            (false, false) => Verdict::Violated,
            (false, true) => Verdict::Inconclusive,
        };
        prop_assert_eq!(judgement.verdict, verdict, "{}: {:?}", text, worth);
        match verdict {
            Verdict::Held => prop_assert_eq!(judgement.margin, finite(worth.low), "{}", text),
            Verdict::Violated => prop_assert_eq!(judgement.margin, finite(worth.high), "{}", text),
            Verdict::Inconclusive => {}
        }
        let unexplained = judgement.explanation.text.is_empty();
        prop_assert!(verdict == Verdict::Held || !unexplained, "{}", text);
        prop_assert_eq!(judgement.unit.is_empty(), judgement.margin.is_none());
    }

    #[test]
    fn a_settled_verdict_does_not_turn(formula in outer(), rows in rows()) {
        let expression = Expression::parse(&formula.to_string()).unwrap();
        let mut monitor = Monitor::new(&expression, &vocabulary()).unwrap();
        let values: Vec<Vec<f64>> = rows.iter().map(|row| row.values()).collect();
        let mut settled = None;
        for row in &values {
            monitor.push(row);
            if settled.is_none() && monitor.is_settled() {
                settled = Some(monitor.judge(|tick| values[tick as usize].clone()).verdict);
            }
        }
        if let Some(verdict) = settled {
            prop_assert_eq!(monitor.judge(|tick| values[tick as usize].clone()).verdict, verdict);
            prop_assert_ne!(verdict, Verdict::Inconclusive);
        }
    }
}

/// Published example of the tool rtamt (discrete time, 1 s samples), read backwards from the end of the trace:
/// the formula looks only ahead, so its worth at a tick is its worth at the beginning of what is left. rtamt
/// cuts windows at the end of the trace, as the margin of an inconclusive run does here.
#[test]
fn margins_are_those_of_the_published_rtamt_example() {
    let vocabulary = Arc::new(Vocabulary {
        signals: vec![Signal::number("x", ""), Signal::number("y", "")],
        constants: vec![],
        period: Period::from_micros(1_000_000).unwrap(),
    });
    let rows: Vec<Vec<f64>> = [0.0, 3.0, 3.0, 0.0, 3.0, 0.0, 0.0]
        .into_iter()
        .zip([5.0, 4.0, 0.5, 3.0, 2.0, 0.25, 0.5])
        .map(|(x, y)| vec![x, y])
        .collect();
    let published = [0.5, 0.5, 0.5, 0.75, 0.75, 2.0, 2.0];
    for (tick, margin) in published.into_iter().enumerate() {
        let judgement = judge("for 3 s (x >= 2 implies within 2 s y <= 1)", &vocabulary, &rows[tick..]);
        assert_eq!(judgement.margin, Some(margin), "tick {tick}");
        let expected = if tick < 4 { Verdict::Held } else { Verdict::Inconclusive };
        assert_eq!(judgement.verdict, expected, "tick {tick}: what lies behind the end is not known");
    }
}
