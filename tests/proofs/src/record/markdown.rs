//! The record as a document.

use std::{collections::BTreeMap, fmt::Write, fs};

use super::{Counted, Entry, Record};
use crate::{proof::Kind, sources};

/// Where the record lies, from the top folder.
pub const PATH: &str = "tests/proofs/RECORD.md";

/// Cases that a property is to have.
pub const CASES: u64 = 1_000_000;

/// Writes the record into the clone.
pub fn write(record: &Record) -> Result<(), String> {
    fs::write(sources::root().join(PATH), text(record)).map_err(|error| format!("{PATH}: {error}"))
}

fn text(record: &Record) -> String {
    let mut text = String::new();
    let _ = writeln!(
        text,
        "# What was proven\n\n\
         Written by `cargo xtask prove`; not to be edited. `cargo xtask prove --list` says what each line claims.\n\n\
         | compiler | sources |\n|---|---|\n| {} | `{}` |\n\n\
         The second is a hash over the code, without tests and comments, of `crates/trunnion/src` and\n\
         `crates/trunnion-can/src` and over `tests/proofs/src`. Where those have changed since, this record is of others:\n\
         `cargo xtask prove` tells.\n",
        record.toolchain, record.sources
    );
    if !record.left.is_empty() {
        let _ = writeln!(text, "Not run yet, so nothing is said of them: {}.\n", record.left.join(", "));
    }
    let short = record.short_of(CASES);
    if short > 0 {
        let all = record.properties.len();
        let _ = writeln!(
            text,
            "{short} of {all} properties have fewer than {} cases as yet; `cargo xtask prove` goes on with them.\n",
            grouped(CASES)
        );
    }
    sweeps(&mut text, record);
    walks(&mut text, record);
    properties(&mut text, &record.properties);
    text
}

fn of_kind(record: &Record, kind: Kind) -> Vec<&Entry> {
    record.proofs.iter().filter(|entry| entry.kind == kind).collect()
}

fn sweeps(text: &mut String, record: &Record) {
    let sweeps = of_kind(record, Kind::Sweep);
    let inputs: u64 = sweeps.iter().map(|entry| entry.outcome.inputs).sum();
    let _ = writeln!(
        text,
        "## Sweeps\n\n{} maps, {} inputs, {}.\n\n\
         | map | block | over | configurations | inputs | checksum of outputs | time |\n|---|---|---|--:|--:|---|--:|",
        sweeps.len(),
        grouped(inputs),
        time(sweeps.iter().map(|entry| entry.outcome.seconds).sum()),
    );
    for Entry { name, block, family, outcome, .. } in &sweeps {
        let _ = writeln!(
            text,
            "| {name} | {block} | {family} | {} | {} | `{:016x}` | {} |",
            outcome.configurations,
            grouped(outcome.inputs),
            outcome.checksum,
            time(outcome.seconds)
        );
    }
    let _ = writeln!(text, "\nMeasured, where it came nearest to what is claimed:\n");
    for entry in sweeps {
        for words in &entry.outcome.measured {
            let _ = writeln!(text, "- {}: {words}", entry.name);
        }
    }
}

fn walks(text: &mut String, record: &Record) {
    let walks = of_kind(record, Kind::Walk);
    let _ = writeln!(
        text,
        "\n## Walks\n\n{} blocks, {} states, {} transitions. In every configuration each planted requirement was found to be \
         wrong.\n\n\
         | block | file | over | configurations | states | transitions | time |\n|---|---|---|--:|--:|--:|--:|",
        walks.len(),
        grouped(walks.iter().map(|entry| entry.outcome.states).sum()),
        grouped(walks.iter().map(|entry| entry.outcome.transitions).sum()),
    );
    for Entry { name, block, family, outcome, .. } in walks {
        let _ = writeln!(
            text,
            "| {name} | {block} | {family} | {} | {} | {} | {} |",
            outcome.configurations,
            grouped(outcome.states),
            grouped(outcome.transitions),
            time(outcome.seconds)
        );
    }
}

/// By block: how many properties, the fewest cases of any, all cases, all time.
fn properties(text: &mut String, properties: &[Counted]) {
    let mut blocks: BTreeMap<&str, (u64, u64, u64, f64)> = BTreeMap::new();
    for property in properties {
        let block = blocks.entry(&property.block).or_insert((0, u64::MAX, 0, 0.0));
        block.0 += 1;
        block.1 = block.1.min(property.cases);
        block.2 += property.cases;
        block.3 += property.seconds;
    }
    let _ = writeln!(
        text,
        "\n## Properties\n\n{} properties, {} cases, {} on one core.\n\n\
         | block | properties | fewest cases of one | cases | time on one core |\n|---|--:|--:|--:|--:|",
        properties.len(),
        grouped(properties.iter().map(|property| property.cases).sum()),
        time(properties.iter().map(|property| property.seconds).sum()),
    );
    for (block, (count, fewest, cases, seconds)) in blocks {
        let _ = writeln!(
            text,
            "| {block} | {count} | {} | {} | {} |",
            grouped(fewest),
            grouped(cases),
            time(seconds)
        );
    }
    let mut slow: Vec<&Counted> = properties.iter().filter(|property| property.cases > 0).collect();
    slow.sort_by(|a, b| cost(b).total_cmp(&cost(a)));
    let _ = writeln!(text, "\nThe dearest, in microseconds a case:\n");
    for property in slow.into_iter().take(12) {
        let _ = writeln!(text, "- {:.0}: `{}`", cost(property), property.name);
    }
}

fn cost(property: &Counted) -> f64 {
    property.seconds * 1e6 / property.cases.max(1) as f64
}

/// Thousands apart.
fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}

fn time(seconds: f64) -> String {
    if seconds < 60.0 {
        format!("{seconds:.1} s")
    } else if seconds < 6_000.0 {
        format!("{:.0} min", seconds / 60.0)
    } else {
        format!("{:.1} h", seconds / 3_600.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::proof::Outcome;

    #[test]
    fn numbers_and_times_are_for_people() {
        assert_eq!([0, 999, 1_000, 4_294_967_296].map(grouped), ["0", "999", "1 000", "4 294 967 296"]);
        assert_eq!([3.0, 600.0, 7_200.0].map(time), ["3.0 s", "10 min", "2.0 h"]);
    }

    #[test]
    fn a_record_names_the_sources_and_what_was_covered() {
        let outcome = Outcome { configurations: 2, inputs: 4_000, ..Outcome::default() };
        let entry = Entry {
            name: "axis".to_owned(),
            block: "lever/axis".to_owned(),
            kind: Kind::Sweep,
            family: "all".to_owned(),
            outcome,
        };
        let record = Record {
            toolchain: "rustc 1".to_owned(),
            sources: "00ff".to_owned(),
            left: vec!["blink_code".to_owned()],
            proofs: vec![entry],
            properties: vec![Counted { cases: 999_999, ..Counted::default() }],
        };
        let text = text(&record);
        assert!(
            text.contains("| rustc 1 | `00ff` |") && text.contains("| axis | lever/axis | all | 2 | 4 000 |"),
            "{text}"
        );
        assert!(
            text.contains("nothing is said of them: blink_code.") && text.contains("1 of 1 properties"),
            "{text}"
        );
    }
}
