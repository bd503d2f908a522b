//! Rows of a machine's declaration, and the small faults that can be made in them. A row is read by the words of its
//! macro, whatever machine it belongs to; no row is named here.

/// The macros whose rows are read.
const TABLES: &[&str] = &["signals", "parameters", "faults", "coils"];
const LATCHES: &[&str] = &["Latch::WhilePresent", "Latch::UntilNeutral", "Latch::UntilRestart"];
const ACCESSES: &[&str] = &["Access::Operator", "Access::Tune", "Access::Safety", "Access::Constant"];
const WIRES: &[&str] =
    &["Wire::SwitchToSupply", "Wire::SwitchToGround", "Wire::VoltageSense", "Wire::Ratiometric"];
/// Types for one another: a row with a wrong unit.
const TYPES: &[&str] = &["Millis", "Permille", "Milliamps", "u16"];

/// What a fault in a row could touch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// What the machine does.
    Behaviour,
    /// What it is called: numbers on the bus, lamp code, pin, place to look. The documents generated from the rows
    /// hold it as a second entry, which the step `generated` compares.
    Name,
}

/// A row with a fault in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Line of the row, counted from 0.
    pub line: usize,
    /// The name that the row declares.
    pub row: String,
    /// What was changed, for a person.
    pub what: String,
    /// What it could touch.
    pub kind: Kind,
    /// The whole text of the file with it.
    pub text: String,
}

/// All changes of one declaration file, in the order of its rows.
pub fn changes(text: &str) -> Vec<Change> {
    let lines: Vec<&str> = text.lines().collect();
    let rows = rows(&lines);
    let mut all = Vec::new();
    for (place, row) in rows.iter().enumerate() {
        let mut edits = edits(row, text);
        if let Some(next) = rows.get(place + 1).filter(|next| next.table == row.table) {
            edits.push((
                format!("stands behind `{}`", next.name),
                Kind::Behaviour,
                Edit::SwapWith(next.line),
            ));
        }
        for (what, kind, edit) in edits {
            let text = applied(&lines, row.line, &edit);
            all.push(Change { line: row.line, row: row.name.clone(), what, kind, text });
        }
    }
    all
}

struct Row<'a> {
    table: usize,
    macro_name: &'static str,
    line: usize,
    name: String,
    text: &'a str,
}

enum Edit {
    Line(String),
    SwapWith(usize),
}

fn rows<'a>(lines: &[&'a str]) -> Vec<Row<'a>> {
    let mut found = Vec::new();
    let mut table: Option<(usize, &'static str)> = None;
    for (line, text) in lines.iter().enumerate() {
        if let Some(name) = TABLES.iter().find(|name| text.starts_with(&format!("trunnion::{name}! {{"))) {
            table = Some((line, name));
        } else if text.starts_with('}') {
            table = None;
        }
        let trimmed = text.trim();
        let Some((table, macro_name)) = table else { continue };
        if trimmed.ends_with(';') && !trimmed.starts_with("//") {
            let name = trimmed.split(':').next().unwrap_or_default();
            let name = name.split_whitespace().last().unwrap_or_default().to_owned();
            found.push(Row { table, macro_name, line, name, text });
        }
    }
    found
}

/// The faults for one row. Each is found by the word in front of it, so that a column that a table does not have makes none.
fn edits(row: &Row<'_>, file: &str) -> Vec<(String, Kind, Edit)> {
    use Kind::{Behaviour, Name};
    let mut found = Vec::new();
    let mut add = |what: String, kind: Kind, line: Option<String>| {
        if let Some(line) = line.filter(|line| line != row.text) {
            found.push((what, kind, Edit::Line(line)));
        }
    };
    for word in ["spn", "fmi", "blink"] {
        if let Some((number, place)) = number_behind(row.text, &format!("{word} ")) {
            let other = if number == 31 { 30 } else { number + 1 };
            add(
                format!("{word} {number} → {other}"),
                Name,
                Some(replaced(row.text, place, &other.to_string())),
            );
        }
    }
    for word in ["set", "clear"] {
        if let Some((number, place)) = number_behind(row.text, &format!(" {word} ")) {
            for other in [0, if number == 0 { 1_000 } else { number * 10 }] {
                add(
                    format!("{word} {number} → {other}"),
                    Behaviour,
                    Some(replaced(row.text, place.clone(), &other.to_string())),
                );
            }
        }
    }
    for (choices, kind) in [(LATCHES, Behaviour), (ACCESSES, Behaviour), (WIRES, Name)] {
        let Some(present) = choices.iter().position(|choice| has_word(row.text, choice)) else { continue };
        for other in [1, 2] {
            let (from, to) = (choices[present], choices[(present + other) % choices.len()]);
            add(format!("{from} → {to}"), kind, Some(row.text.replacen(from, to, 1)));
        }
    }
    reactions(row, file, &mut add);
    range(row, &mut add);
    safe_value(row, &mut add);
    type_of(row, &mut add);
    for (place, text) in strings(row.text) {
        let kind = if row.macro_name == "signals" && row.text.contains("named") { Behaviour } else { Name };
        add(format!("\"{text}\" → \"X99:9\""), kind, Some(replaced(row.text, place, "X99:9")));
    }
    found
}

type Add<'a> = &'a mut dyn FnMut(String, Kind, Option<String>);

/// Another reaction of those that the file declares, and none.
fn reactions(row: &Row<'_>, file: &str, add: Add<'_>) {
    if row.macro_name != "faults" {
        return;
    }
    let declared: Vec<&str> = file
        .lines()
        .filter_map(|line| line.strip_prefix("pub const ")?.split_once(": Reactions"))
        .map(|(name, _)| name)
        .collect();
    let all = || declared.iter().copied().chain(["Reactions::NONE"]);
    let Some(present) = all().find(|name| has_word(row.text, name)) else { return };
    let next = all().cycle().skip_while(|name| *name != present).nth(1).unwrap_or(present);
    for other in [next, "Reactions::NONE"] {
        add(format!("{present} → {other}"), Kind::Behaviour, Some(replaced_word(row.text, present, other)));
    }
}

/// `= default, in low..=high`: each end and the default moved, the ends exchanged.
fn range(row: &Row<'_>, add: Add<'_>) {
    let Some((low, low_place)) = number_behind(row.text, ", in ") else { return };
    let Some((high, high_place)) = number_behind(row.text, "..=") else { return };
    let line =
        |place: &std::ops::Range<usize>, value: i64| replaced(row.text, place.clone(), &value.to_string());
    let swapped = replaced(&line(&high_place, low), low_place.clone(), &high.to_string());
    add(format!("range {low}..={high} → {high}..={low}"), Kind::Behaviour, Some(swapped));
    let middle = low + (high - low) / 2;
    if let Some((default, default_place)) = number_behind(row.text, " = ") {
        for other in [low, high, middle] {
            add(format!("default {default} → {other}"), Kind::Behaviour, Some(line(&default_place, other)));
        }
        add(format!("low {low} → {default}"), Kind::Behaviour, Some(line(&low_place, default)));
        add(format!("high {high} → {default}"), Kind::Behaviour, Some(line(&high_place, default)));
    } else {
        add(format!("low {low} → {middle}"), Kind::Behaviour, Some(line(&low_place, middle)));
        add(format!("high {high} → {middle}"), Kind::Behaviour, Some(line(&high_place, middle)));
    }
}

/// The value of a signal that nobody has set.
fn safe_value(row: &Row<'_>, add: Add<'_>) {
    if row.macro_name != "signals" {
        return;
    }
    for (from, to) in [
        ("= false", "= true"),
        ("= true", "= false"),
        ("Millivolts::ZERO", "Millivolts::MAX"),
        ("Ratio::ZERO", "Ratio::ONE"),
        ("Rpm::ZERO", "Rpm::MAX"),
        ("u64::MAX", "0"),
        ("= 0", "= 1"),
    ] {
        if has_word(row.text, from) {
            let kind = Kind::Behaviour;
            return add(format!("safe value {from} → {to}"), kind, Some(replaced_word(row.text, from, to)));
        }
    }
}

/// Another type: what uses the row should not compile.
fn type_of(row: &Row<'_>, add: Add<'_>) {
    if row.macro_name != "parameters" {
        return;
    }
    let Some(present) = row.text.split_once(": ").and_then(|(_, rest)| rest.split_once(" =")) else { return };
    let other = TYPES.iter().find(|name| **name != present.0).copied().unwrap_or("u16");
    let what = format!("type {} → {other}", present.0);
    add(what, Kind::Behaviour, Some(row.text.replacen(present.0, other, 1)));
}

/// The number right behind some words, and where it is.
fn number_behind(text: &str, words: &str) -> Option<(i64, std::ops::Range<usize>)> {
    let start = text.find(words)? + words.len();
    let rest = &text[start..];
    let length = rest
        .char_indices()
        .find(|(place, letter)| {
            !(letter.is_ascii_digit() || *letter == '_' || (*place == 0 && *letter == '-'))
        })
        .map_or(rest.len(), |(place, _)| place);
    let number = rest[..length].replace('_', "").parse().ok()?;
    Some((number, start..start + length))
}

fn replaced(text: &str, place: std::ops::Range<usize>, by: &str) -> String {
    format!("{}{by}{}", &text[..place.start], &text[place.end..])
}

/// Whether the words stand there, not as a part of longer ones.
fn has_word(text: &str, word: &str) -> bool {
    word_place(text, word).is_some()
}

fn replaced_word(text: &str, word: &str, by: &str) -> String {
    word_place(text, word).map_or_else(|| text.to_owned(), |place| replaced(text, place, by))
}

fn word_place(text: &str, word: &str) -> Option<std::ops::Range<usize>> {
    let inside = |letter: char| letter.is_ascii_alphanumeric() || letter == '_';
    text.match_indices(word)
        .map(|(start, _)| start..start + word.len())
        .find(|place| !text[..place.start].ends_with(inside) && !text[place.end..].starts_with(inside))
}

/// The quoted texts of a row and where they are.
fn strings(text: &str) -> Vec<(std::ops::Range<usize>, &str)> {
    let quotes: Vec<usize> = text.match_indices('"').map(|(place, _)| place).collect();
    quotes.chunks_exact(2).map(|pair| (pair[0] + 1..pair[1], &text[pair[0] + 1..pair[1]])).collect()
}

fn applied(lines: &[&str], line: usize, edit: &Edit) -> String {
    let mut all: Vec<&str> = lines.to_vec();
    match edit {
        Edit::Line(text) => all[line] = text,
        Edit::SwapWith(other) => all.swap(line, *other),
    }
    let mut text = all.join("\n");
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "
pub const STOP: Reactions = Reactions(1);
trunnion::faults! {
    /// All.
    pub enum Fault {
        /// A wire; with a semicolon in its text;
        Open: spn 520_192, fmi 31, set 0, clear 100, Latch::UntilNeutral, STOP, blink 11, \"X2:6\";
        /// Another.
        Short: spn 168, fmi 3, set 40, clear 500, Latch::WhilePresent, Reactions::NONE, blink 12, \"X2:7\";
    }
}
trunnion::parameters! {
    pub struct Parameters, pub enum Parameter {
        /// A time.
        0x0101 hold: Millis = 1500, in 300..=10_000, Access::Tune;
        /// A temperature.
        0x0102 cold: i8 = -15, in -40..=0, Access::Tune;
    }
}
trunnion::signals! {
    pub struct Inputs, pub enum Input {
        /// A switch.
        seat: bool = false, at \"X2:3\", Wire::SwitchToSupply;
    }
}
";

    fn of(row: &str) -> Vec<String> {
        changes(FILE).into_iter().filter(|change| change.row == row).map(|change| change.what).collect()
    }

    #[test]
    fn every_column_of_a_row_is_changed_in_turn() {
        let open = of("Open");
        for what in [
            "spn 520192 → 520193",
            "fmi 31 → 30",
            "blink 11 → 12",
            "set 0 → 1000",
            "clear 100 → 0",
            "clear 100 → 1000",
            "Latch::UntilNeutral → Latch::UntilRestart",
            "STOP → Reactions::NONE",
            "\"X2:6\" → \"X99:9\"",
            "stands behind `Short`",
        ] {
            assert!(open.iter().any(|one| one == what), "{what} is not among {open:?}");
        }
        assert!(of("Short").iter().any(|what| what == "Reactions::NONE → STOP"));
    }

    #[test]
    fn ends_defaults_types_and_safe_values_are_changed() {
        let cold = of("cold");
        for what in [
            "range -40..=0 → 0..=-40",
            "default -15 → -40",
            "low -40 → -15",
            "high 0 → -15",
            "type i8 → Millis",
        ] {
            assert!(cold.iter().any(|one| one == what), "{what} is not among {cold:?}");
        }
        assert!(of("seat").contains(&"safe value = false → = true".to_owned()));
        assert!(of("hold").contains(&"high 10000 → 1500".to_owned()));
    }

    #[test]
    fn each_change_touches_its_row_only() {
        for change in changes(FILE) {
            let differing = FILE.lines().zip(change.text.lines()).filter(|(old, new)| old != new).count();
            let moved = change.what.starts_with("stands behind");
            assert_eq!(differing, if moved { 2 } else { 1 }, "{} {}", change.row, change.what);
            assert_eq!(FILE.lines().count(), change.text.lines().count());
        }
    }
}
