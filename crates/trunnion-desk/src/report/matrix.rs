//! The page of a fault campaign: every way to fail by every state of the machine.

use std::collections::BTreeMap;

use maud::{DOCTYPE, Markup, PreEscaped, html};
use trunnion_rig::campaign::CellResult;

use super::page::policy;
use super::tables::grouped;
use super::{palette, svg};

const STYLE: [&str; 3] =
    [include_str!("style/page.css"), include_str!("style/tables.css"), include_str!("style/matrix.css")];

/// What the page of a campaign tells.
#[derive(Debug)]
pub struct Matrix<'a> {
    /// The machine.
    pub machine: &'a str,
    /// The program by whose command a cell is replayed.
    pub program: &'a str,
    /// States in the order of the columns: name, and what the machine is doing.
    pub states: Vec<(&'a str, &'a str)>,
    /// Every cell that was run.
    pub cells: &'a [CellResult],
    /// What was run, for who wants to run it again: name and words.
    pub provenance: Vec<(&'a str, String)>,
}

/// One way for one signal to fail: its cells by the place of their state.
struct Row<'a> {
    signal: &'a str,
    way: &'a str,
    cells: BTreeMap<usize, &'a CellResult>,
}

impl Row<'_> {
    fn is_red(&self) -> bool {
        self.cells.values().any(|cell| !cell.red.is_empty())
    }

    /// What is expected, each once.
    fn expectations(&self) -> String {
        let mut words: Vec<&str> = Vec::new();
        for cell in self.cells.values() {
            if !words.contains(&cell.expected.as_str()) {
                words.push(&cell.expected);
            }
        }
        words.join("; ")
    }
}

/// Writes the page: no script, nothing from elsewhere; the same cells give the same bytes.
pub fn matrix(matrix: &Matrix<'_>) -> String {
    let style = svg::printable(format!("{}{}", palette::rules(), STYLE.concat()));
    let rows = rows(matrix);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy(&style, ""));
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content={ "trunnion-desk " (env!("CARGO_PKG_VERSION")) };
                link rel="icon" href="data:,";
                title { (matrix.machine) " – fault campaign" }
                style { (PreEscaped(&style)) }
            }
            body {
                main class="alone" {
                    section class="sheet" {
                        (head(matrix))
                        (red(matrix))
                        (table(matrix, &rows))
                        (hazards(matrix))
                        (states(matrix))
                    }
                }
            }
        }
    };
    svg::printable(page.into_string())
}

/// Rows in the order of their first cells, those with a red cell first.
fn rows<'a>(matrix: &'a Matrix<'_>) -> Vec<Row<'a>> {
    let mut rows: Vec<Row<'a>> = Vec::new();
    for cell in matrix.cells {
        let Some(state) = matrix.states.iter().position(|(name, _)| *name == cell.state) else { continue };
        let same = |row: &&mut Row<'_>| row.signal == cell.signal && row.way == cell.way;
        match rows.iter_mut().rev().find(same) {
            Some(row) => {
                row.cells.insert(state, cell);
            }
            None => rows.push(Row {
                signal: &cell.signal,
                way: &cell.way,
                cells: BTreeMap::from([(state, cell)]),
            }),
        }
    }
    rows.sort_by_key(|row| !row.is_red());
    rows
}

fn head(matrix: &Matrix<'_>) -> Markup {
    let red = matrix.cells.iter().filter(|cell| !cell.red.is_empty()).count();
    let verdict = if red == 0 { "held" } else { "violated" };
    let mut counts: BTreeMap<&str, u64> = BTreeMap::new();
    for cell in matrix.cells {
        *counts.entry(kind(cell).1).or_insert(0) += 1;
    }
    html! {
        header class="title-block" {
            div {
                p class="over" { "Fault campaign" }
                h1 { (matrix.machine) }
                p class="lead" {
                    "Everything broken in every way in every state: 3 s broken, 1 s mended with the levers still held, then \
                     let go and permission asked for anew, each time beside a sound machine that is told the same."
                }
            }
            div class={ "cell " (verdict) } {
                p class="over" { "Result" }
                p class="statement" {
                    @if red == 0 { "all " (grouped(matrix.cells.len() as u64)) " as expected" }
                    @else { b { (grouped(red as u64)) } " of " (grouped(matrix.cells.len() as u64)) " not as expected" }
                }
                p { @for (index, (name, count)) in counts.iter().enumerate() {
                    @if index > 0 { ", " } (grouped(*count)) " " (name)
                } }
            }
        }
        dl class="block" { @for (name, words) in &matrix.provenance {
            div { dt { (name) } dd { (words) } }
        } }
        p class="lead" {
            "No certification is claimed: the plant is a model, and the makers' own assessment decides (ISO 12100, ISO 13849, \
             ISO 19014)."
        }
    }
}

fn red(matrix: &Matrix<'_>) -> Markup {
    let red: Vec<&CellResult> = matrix.cells.iter().filter(|cell| !cell.red.is_empty()).collect();
    html! { @if !red.is_empty() {
        h3 { "Not as expected" }
        ul class="reds" { @for cell in red {
            li id=(cell.cell) {
                b { (cell.cell) } " – expected " (cell.expected)
                ul { @for line in &cell.red { li { (line) } } }
                code { (matrix.program) " campaign --cell " (cell.cell) }
            }
        } }
    } }
}

/// Letter, words and class of each kind of expectation; of a pair counts the one that asks for most.
const KINDS: [(&str, &str, &str); 5] = [
    ("T", "tolerated", "tolerated"),
    ("N", "dormant", "tolerated"),
    ("U", "undetectable by design", "hidden"),
    ("S", "stopped for a reason", "stops"),
    ("D", "detected", "detected"),
];

fn kind(cell: &CellResult) -> (&'static str, &'static str, &'static str) {
    let rank = |expected: &str| match expected {
        "tolerated" => 0,
        dormant if dormant.starts_with("dormant: ") => 1,
        "undetectable by design" => 2,
        stops if stops.starts_with("stops: ") => 3,
        _ => 4,
    };
    let rank = cell.expected.split(" + ").map(rank).max();
    KINDS[rank.unwrap_or(0)]
}

/// The kind of what is expected of a cell, in words.
pub fn expectation(cell: &CellResult) -> &'static str {
    kind(cell).1
}

/// Time of what was expected, ms.
fn reaction(cell: &CellResult) -> Option<u32> {
    let answers = cell.expected.split(" + ").filter_map(|expected| {
        let names = expected.strip_prefix("stops: ").unwrap_or(expected).split(" within ").next()?;
        let measured = &cell.measured;
        let seen = measured.faults.iter().chain(&measured.reasons);
        let named = |known: &str| names.split(" or ").any(|name| name == known);
        seen.filter(|(known, _)| named(known)).map(|(_, millis)| *millis).next()
    });
    answers.min()
}

fn table(matrix: &Matrix<'_>, rows: &[Row<'_>]) -> Markup {
    html! {
        h3 { "Signals and ways by states" }
        p class="lead" {
            "D detected, S stopped for what was read, T tolerated, N not in use now and shown elsewhere, U undetectable by design; the number is the time from the \
             last good value in ms. A cell replays with " code { (matrix.program) " campaign --cell SIGNAL:WAY@STATE" } "."
        }
        table class="matrix" {
            thead { tr {
                th scope="col" { "Signal, way" }
                @for (name, about) in &matrix.states { th scope="col" title=(about) { span { (words(name)) } } }
            } }
            tbody { @for row in rows { tr {
                th scope="row" {
                    span { (row.signal) ": " (words(row.way)) }
                    p class="aside" { (row.expectations()) }
                }
                @for (index, (name, _)) in matrix.states.iter().enumerate() { (field(row.cells.get(&index).copied(), name)) }
            } } }
        }
    }
}

fn field(cell: Option<&CellResult>, state: &str) -> Markup {
    let Some(cell) = cell else { return html! { td class="none" data-label=(words(state)) { "–" } } };
    let (letter, _, class) = kind(cell);
    let seen: Vec<String> =
        cell.measured.faults.iter().map(|(name, after)| format!("{name} {after} ms")).collect();
    let title = if seen.is_empty() { cell.expected.clone() } else { seen.join(", ") };
    let class = if cell.red.is_empty() { class } else { "red" };
    html! {
        td class=(class) data-label=(words(state)) title=(title) {
            @if cell.red.is_empty() { (letter) } @else { a href={ "#" (cell.cell) } { "✕" (letter) } }
            @if let Some(millis) = reaction(cell) { " " small { (millis) } }
        }
    }
}

/// A name in words: `ramping_down` is read as "ramping down", and breaks there.
fn words(name: &str) -> String {
    name.replace('_', " ")
}

fn hazards(matrix: &Matrix<'_>) -> Markup {
    let mut hazards: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for cell in matrix.cells.iter().filter(|cell| !cell.hazard.is_empty()) {
        let signals = hazards.entry(&cell.hazard).or_default();
        if !signals.contains(&cell.signal.as_str()) {
            signals.push(&cell.signal);
        }
    }
    html! { @if !hazards.is_empty() {
        h3 { "What is left: undetectable by design" }
        table class="stack plain" {
            thead { tr { th { "Residual hazard" } th { "Signals" } } }
            tbody { @for (hazard, signals) in hazards { tr {
                td { (hazard) }
                td { (signals.join(", ")) }
            } } }
        }
    } }
}

fn states(matrix: &Matrix<'_>) -> Markup {
    html! {
        h3 { "States" }
        table class="stack plain" {
            thead { tr { th { "State" } th { "What the machine is doing" } } }
            tbody { @for (name, about) in &matrix.states { tr { td { (words(name)) } td { (about) } } } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion_rig::campaign::Measured;

    fn cell(state: &str, red: &[&str]) -> CellResult {
        CellResult {
            cell: format!("seat:open@{state}"),
            signal: "seat".into(),
            way: "open".into(),
            state: state.into(),
            rule: "seat:open@*".into(),
            expected: "SeatStuck within 50 ms".into(),
            hazard: String::new(),
            measured: Measured { faults: vec![("SeatStuck".into(), 40)], ..Measured::default() },
            excused: Vec::new(),
            red: red.iter().map(|line| (*line).to_owned()).collect(),
            replay: String::new(),
        }
    }

    fn page(cells: &[CellResult]) -> String {
        matrix(&Matrix {
            machine: "Toy <1>",
            program: "toy",
            states: vec![("at_rest", "nothing"), ("driving", "ahead")],
            cells,
            provenance: vec![("Build", "abc".into())],
        })
    }

    #[test]
    fn a_red_cell_is_told_on_top_with_its_command() {
        let page = page(&[cell("at_rest", &[]), cell("driving", &["SeatStuck came late"])]);
        let told = page.find("toy campaign --cell seat:open@driving").unwrap();
        assert!(told < page.find("Signals and ways").unwrap());
        assert!(page.contains("✕D") && page.contains("SeatStuck came late"));
    }

    #[test]
    fn a_row_has_a_field_for_every_state_also_for_one_that_was_not_run() {
        let page = page(&[cell("driving", &[])]);
        assert_eq!(page.matches("<td class=\"none\" data-label=\"at rest\"").count(), 1);
        assert_eq!(page.matches("data-label=\"driving\"").count(), 1);
        assert!(page.contains("<small>40</small>") && page.contains("all 1 as expected"));
    }

    #[test]
    fn names_are_escaped_and_nothing_is_loaded_from_elsewhere() {
        let page = page(&[cell("driving", &[])]);
        assert!(page.contains("Toy &lt;1&gt;") && !page.contains("http://") && !page.contains("https://"));
    }
}
