//! Formulas of requirements against rtamt 0.4.10 (BSD-3), an independent implementation of signal temporal logic.
//!
//! Random formulas over random signals, the same in both languages: the margin must be the same number, and the verdict
//! must have its sign. Values are multiples of a quarter, so that ties are frequent and exact.

use std::env;
use std::sync::Arc;
use std::time::Instant;

use serde_json::{Value, json};
use trunnion::quantity::Period;
use trunnion_rig::requirement::{Expression, Judgement, Monitor, Signal, Verdict, Vocabulary};

use crate::oracle::ask;

const NAMES: [&str; 3] = ["x", "y", "z"];

/// A small generator (xorshift64*, Vigna 2016): the cases must be the same on every run.
struct Random(u64);

impl Random {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) % limit
    }

    fn quarter(&mut self) -> f64 {
        (self.below(41) as f64 - 20.0) / 4.0
    }
}

/// A formula in our words and in rtamt's, and how many ticks ahead it looks.
struct Both {
    ours: String,
    theirs: String,
    ahead: u64,
}

impl Both {
    fn new(ours: String, theirs: String, ahead: u64) -> Self {
        Self { ours, theirs, ahead }
    }
}

fn term(random: &mut Random) -> (String, String) {
    let name = |random: &mut Random| NAMES[random.below(3) as usize];
    let (a, b) = (name(random), name(random));
    let text = match random.below(6) {
        0 => format!("abs({a})"),
        1 => format!("({a} + {b})"),
        2 => format!("({a} - {b})"),
        3 => format!("(2 * {a})"),
        _ => a.to_owned(),
    };
    (text.clone(), text)
}

fn comparison(random: &mut Random) -> Both {
    let (ours, theirs) = term(random);
    let relation = ["<", "<=", ">", ">="][random.below(4) as usize];
    let limit = random.quarter();
    // A negative number is written as a difference, which both languages read alike.
    let limit = if limit < 0.0 { format!("(0 - {})", -limit) } else { limit.to_string() };
    Both::new(format!("({ours} {relation} {limit})"), format!("({theirs} {relation} {limit})"), 0)
}

fn formula(random: &mut Random, depth: u32) -> Both {
    if depth == 0 || random.below(6) == 0 {
        return comparison(random);
    }
    let ticks = random.below(5);
    let a = formula(random, depth - 1);
    match random.below(13) {
        0 => Both::new(format!("(not {})", a.ours), format!("(not {})", a.theirs), a.ahead),
        1 => Both::new(
            format!("(for {ticks} s {})", a.ours),
            format!("(always[0,{ticks}] {})", a.theirs),
            a.ahead + ticks,
        ),
        2 => Both::new(
            format!("(within {ticks} s {})", a.ours),
            format!("(eventually[0,{ticks}] {})", a.theirs),
            a.ahead + ticks,
        ),
        3 => Both::new(
            format!("(once within {ticks} s {})", a.ours),
            format!("(once[0,{ticks}] {})", a.theirs),
            a.ahead,
        ),
        4 => Both::new(
            format!("(not (once within {ticks} s (not {})))", a.ours),
            format!("(historically[0,{ticks}] {})", a.theirs),
            a.ahead,
        ),
        5 => Both::new(format!("(so far {})", a.ours), format!("(historically {})", a.theirs), a.ahead),
        6 => Both::new(format!("(once {})", a.ours), format!("(once {})", a.theirs), a.ahead),
        kind => joined(random, a, depth, kind, ticks),
    }
}

fn joined(random: &mut Random, a: Both, depth: u32, kind: u64, ticks: u64) -> Both {
    let b = formula(random, depth - 1);
    let ahead = a.ahead.max(b.ahead);
    match kind {
        7 | 8 => Both::new(
            format!("({} and {})", a.ours, b.ours),
            format!("({} and {})", a.theirs, b.theirs),
            ahead,
        ),
        9 => {
            Both::new(format!("({} or {})", a.ours, b.ours), format!("({} or {})", a.theirs, b.theirs), ahead)
        }
        10 => Both::new(
            format!("({} implies {})", a.ours, b.ours),
            format!("({} implies {})", a.theirs, b.theirs),
            ahead,
        ),
        11 => Both::new(
            format!("({} until within {ticks} s {})", a.ours, b.ours),
            format!("({} until[0,{ticks}] {})", a.theirs, b.theirs),
            ahead + ticks,
        ),
        _ => Both::new(
            format!("({} since within {ticks} s {})", a.ours, b.ours),
            format!("({} since[0,{ticks}] {})", a.theirs, b.theirs),
            ahead,
        ),
    }
}

struct Case {
    ours: String,
    theirs: String,
    signals: [Vec<f64>; 3],
}

fn case(random: &mut Random) -> Case {
    let inner = formula(random, 3);
    let spare = 2 + random.below(30);
    let length = inner.ahead + spare;
    let last = spare - 1;
    // Over a run that shows all that is looked at: what a window shows that the run cuts is told apart below.
    let (ours, theirs) = match random.below(4) {
        0 if inner.ahead == 0 => (format!("always {}", inner.ours), format!("always {}", inner.theirs)),
        1 if inner.ahead == 0 => {
            (format!("eventually {}", inner.ours), format!("eventually {}", inner.theirs))
        }
        0 | 1 => (format!("at 0 s {}", inner.ours), inner.theirs),
        2 => (
            format!("at 0 s within {last} s {}", inner.ours),
            format!("eventually[0,{last}] {}", inner.theirs),
        ),
        _ => (format!("from 0 s to {last} s {}", inner.ours), format!("always[0,{last}] {}", inner.theirs)),
    };
    let mut signal = || (0..length).map(|_| random.quarter()).collect();
    Case { ours, theirs, signals: [signal(), signal(), signal()] }
}

fn judged(case: &Case) -> Judgement {
    let vocabulary = Arc::new(Vocabulary {
        signals: NAMES.map(|name| Signal::number(name, "")).into(),
        constants: Vec::new(),
        period: Period::from_micros(1_000_000).unwrap(),
    });
    let formula = Expression::parse(&case.ours).unwrap_or_else(|error| panic!("{}: {error:?}", case.ours));
    let mut monitor =
        Monitor::new(&formula, &vocabulary).unwrap_or_else(|error| panic!("{}: {error:?}", case.ours));
    let row = |tick: usize| case.signals.each_ref().map(|signal| signal[tick]);
    for tick in 0..case.signals[0].len() {
        monitor.push(&row(tick));
    }
    monitor.judge(|tick| row(tick as usize).to_vec())
}

fn question(cases: &[Case]) -> Value {
    let cases: Vec<Value> = cases
        .iter()
        .map(|case| {
            let [x, y, z] = &case.signals;
            json!({ "formula": case.theirs, "signals": { "x": x, "y": y, "z": z } })
        })
        .collect();
    json!({ "cases": cases })
}

/// Pairs of formula and run: some in the suite, as many as `TRUNNION_FORMULAS` says in a campaign.
fn pairs() -> usize {
    env::var("TRUNNION_FORMULAS").ok().and_then(|text| text.parse().ok()).unwrap_or(400)
}

#[test]
fn margins_and_verdicts_are_those_of_rtamt() {
    let mut random = Random(0x5EED);
    let cases: Vec<Case> = (0..pairs()).map(|_| case(&mut random)).collect();
    let Some(answer) = ask("temporal_logic.py", &question(&cases)) else { return };
    let theirs = answer["values"].as_array().expect("a list");
    let (mut held, mut violated, mut undecided) = (0, 0, 0);
    for (case, theirs) in cases.iter().zip(theirs) {
        let judgement = judged(case);
        let theirs = theirs.as_f64();
        assert_eq!(
            judgement.margin, theirs,
            "{}\n{}\n{:?}\n{judgement:?}",
            case.ours, case.theirs, case.signals
        );
        let Some(margin) = theirs else { continue };
        match judgement.verdict {
            Verdict::Held => {
                held += 1;
                assert!(margin >= 0.0, "{} held with {margin}", case.ours);
            }
            Verdict::Violated => {
                violated += 1;
                assert!(margin <= 0.0, "{} violated with {margin}", case.ours);
            }
            Verdict::Inconclusive => undecided += 1,
        }
    }
    println!("{} pairs: {held} held, {violated} violated, {undecided} undecided", cases.len());
    assert!(held > cases.len() / 20 && violated > cases.len() / 20, "the cases must be of both kinds");
}

#[test]
fn what_a_run_cuts_is_undecided_with_the_margin_of_rtamt_or_surely_decided() {
    let mut random = Random(0xC07);
    let cases: Vec<Case> = (0..pairs() / 2)
        .map(|_| {
            let inner = formula(&mut random, 3);
            let length = 2 + random.below(12);
            let mut signal = || (0..length).map(|_| random.quarter()).collect();
            let signals = [signal(), signal(), signal()];
            Case {
                ours: format!("always {}", inner.ours),
                theirs: format!("always {}", inner.theirs),
                signals,
            }
        })
        .collect();
    let Some(answer) = ask("temporal_logic.py", &question(&cases)) else { return };
    let mut undecided = 0;
    for (case, theirs) in cases.iter().zip(answer["values"].as_array().expect("a list")) {
        let judgement = judged(case);
        let Some(margin) = theirs.as_f64() else { continue };
        match judgement.verdict {
            Verdict::Held => assert!(margin >= 0.0, "{} held with {margin}", case.ours),
            Verdict::Violated => assert!(margin <= 0.0, "{} violated with {margin}", case.ours),
            Verdict::Inconclusive => {
                undecided += 1;
                assert_eq!(
                    judgement.margin,
                    Some(margin),
                    "{}\n{}\n{:?}",
                    case.ours,
                    case.theirs,
                    case.signals
                );
            }
        }
    }
    assert!(undecided > 5, "windows must be cut: {undecided}");
}

#[test]
fn the_published_example_has_the_published_margin() {
    // rtamt's own documentation: always[0,3](x >= 2 implies eventually[0,2] y <= 1) is 0.5 at the first sample.
    let case = Case {
        ours: "at 0 s for 3 s (x >= 2 implies within 2 s y <= 1)".to_owned(),
        theirs: String::new(),
        signals: [
            vec![0.0, 3.0, 3.0, 0.0, 3.0, 0.0, 0.0],
            vec![5.0, 4.0, 0.5, 3.0, 2.0, 0.25, 0.5],
            vec![0.0; 7],
        ],
    };
    let judgement = judged(&case);
    assert_eq!((judgement.verdict, judgement.margin), (Verdict::Held, Some(0.5)));
}

#[test]
#[ignore = "a measurement: run it with --ignored --nocapture"]
fn how_much_faster_than_rtamt() {
    let mut random = Random(7);
    let mut signal = || -> Vec<f64> { (0..20_000).map(|_| random.quarter()).collect() };
    let signals = [signal(), signal(), signal()];
    let formulas = [
        ("always (x > 4 implies within 50 s y < 1)", "always (x > 4 implies eventually[0,50] y < 1)"),
        (
            "always ((x + y) < 9 or (z > 0 until within 30 s x < 2))",
            "always ((x + y) < 9 or (z > 0 until[0,30] x < 2))",
        ),
        ("always (once within 100 s x > 0)", "always (once[0,100] x > 0)"),
    ];
    let cases = formulas.map(|(ours, theirs)| Case {
        ours: ours.to_owned(),
        theirs: theirs.to_owned(),
        signals: signals.clone(),
    });
    let Some(answer) = ask("temporal_logic.py", &question(&cases)) else { return };
    let theirs = answer["seconds"].as_f64().expect("seconds");
    let began = Instant::now();
    for (case, margin) in cases.iter().zip(answer["values"].as_array().expect("a list")) {
        assert_eq!(judged(case).margin, margin.as_f64(), "{}", case.ours);
    }
    let ours = began.elapsed().as_secs_f64();
    println!("rtamt {theirs:.3} s, ours {ours:.4} s with parsing: {:.0} times as fast", theirs / ours);
}
