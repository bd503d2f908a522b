//! The first sheet, and the sheets that belong to no run.

use maud::{Markup, PreEscaped, html};

use super::axis;
use super::check::ReportError;
use super::data::{Parity, ReportData, Requirement, RunReport, Table, Verdict};
use super::page::{self, Sheet};
use super::plot_data::Comparison;
use super::tables::{self, Plots};
use super::{figure, payload, svg};

/// What every report says, whatever the machine.
const CAUTIONS: [&str; 4] = [
    "No certification is claimed. A requirement that held in a simulated run is evidence about that run, and about \
     the model, not proof about a machine.",
    "Local codes, the machine's own risk assessment (ISO 12100, ISO 13849, ISO 19014) and licensed practice decide \
     what may move and how it must stop.",
    "The simulated machine is a model with stated equations and chosen parameters. Real valves, pumps, tyres and \
     ground differ: measure before you rely on a margin.",
    "First motion on a machine: wheels off the ground, an emergency stop in reach, nobody near it.",
];

/// Draws the first sheet.
pub(super) fn sheet(data: &ReportData) -> Sheet {
    let body = html! {
        header class="title-block" {
            div class="name" {
                p class="over" { "Run report" }
                h1 { (data.machine) }
                @if !data.title.is_empty() { p class="subject" { (data.title) } }
                @if !data.about.is_empty() { p class="lead" { (data.about) } }
            }
            (checks(data))
            (parity(&data.parity))
        }
        section class="cautions" aria-label="Cautions" {
            h3 { "Before you rely on this" }
            ul {
                @for caution in CAUTIONS { li { (caution) } }
                @for caution in &data.cautions { li { (caution) } }
            }
        }
        @if !data.runs.is_empty() { h3 { "Runs" } (runs(data)) }
        (across(data))
        @if !data.provenance.is_empty() {
            h3 { "Made from" }
            dl class="facts" {
                @for fact in &data.provenance {
                    div { dt { (fact.label) } dd { @if is_hash(&fact.value) { code { (fact.value) } } @else { (fact.value) } } }
                }
            }
        }
        @if !data.log.is_empty() { h3 { "Log" } (tables::log(&data.log, Plots { anchor: "" })) }
    };
    Sheet { id: "overview".into(), name: "Summary".into(), verdict: None, body }
}

fn is_hash(value: &str) -> bool {
    value.len() >= 12 && value.bytes().all(|byte| byte.is_ascii_hexdigit())
}

/// How many checks held: the one number to look at.
fn checks(data: &ReportData) -> Markup {
    let count = |verdict| data.runs.iter().map(|run| run.count(verdict)).sum::<usize>();
    let (held, violated, inconclusive) =
        (count(Verdict::Held), count(Verdict::Violated), count(Verdict::Inconclusive));
    let all = held + violated + inconclusive;
    let class = match (violated, inconclusive) {
        (0, 0) => "held",
        (0, _) => "inconclusive",
        _ => "violated",
    };
    html! {
        div class={ "cell " @if all > 0 { (class) } } {
            p class="over" { "Requirements" }
            @if all == 0 {
                p class="statement" { "None monitored" }
            } @else {
                p class="statement" { b { (held) } " of " b { (all) } " held" }
                p {
                    @if held == all { "Every check in every run." }
                    @if violated > 0 { (violated) " violated. " }
                    @if inconclusive > 0 { (inconclusive) " inconclusive." }
                }
            }
        }
    }
}

fn parity(parity: &Parity) -> Markup {
    let (class, answer, detail) = match parity {
        Parity::BitForBit { controller, ticks } => (
            "held",
            "Yes",
            html! { "Every output of " (tables::grouped(*ticks)) " control ticks. " (controller) "." },
        ),
        Parity::Differs { controller, first } => {
            ("violated", "No", html! { (controller) ". First difference: " (first) "." })
        }
        Parity::Skipped(why) => ("inconclusive", "Not compared", html! { (why) }),
        Parity::NotCompared => ("inconclusive", "Not compared", html! { "Only the host ran." }),
    };
    html! {
        div class={ "cell " (class) } {
            p class="over" { "Firmware equals host, bit for bit" }
            p class="statement" { b { (answer) } }
            p { (detail) }
        }
    }
}

/// The list of runs, each with the marks of its requirements.
fn runs(data: &ReportData) -> Markup {
    html! {
        table class="runs stack" {
            thead { tr { th { "No." } th { "Run" } th { "Requirements" } th class="right" { "Simulated" } th { "Firmware" } } }
            tbody {
                @for (index, run) in data.runs.iter().enumerate() {
                    tr {
                        td class="no" { (index + 1) }
                        td class="sentence" {
                            a href={ "#" (page::run_id(index, run)) } { (run.title) }
                            @if !run.about.is_empty() { p class="aside" { (run.about) } }
                        }
                        td class="marks" {
                            span class="comb" { @for row in &run.requirements { (tables::glyph(row.verdict)) } }
                            span class="unit" { (run.count(Verdict::Held)) " of " (run.requirements.len()) }
                        }
                        td class="right nowrap" { (axis::significant(run.duration)) "\u{202f}s" }
                        td class="nowrap" { (tables::parity_word(&run.parity)) }
                    }
                }
            }
        }
    }
}

/// One requirement over all runs.
struct Across<'a> {
    requirement: &'a Requirement,
    rows: Vec<(usize, &'a RunReport, &'a Requirement)>,
}

impl<'a> Across<'a> {
    fn of(data: &'a ReportData) -> Vec<Self> {
        let mut all: Vec<Self> = Vec::new();
        for (index, run) in data.runs.iter().enumerate() {
            for row in &run.requirements {
                // A scenario numbers its own requirements: one number can stand for several sentences.
                let same = |known: &Requirement| known.id == row.id && known.sentence == row.sentence;
                match all.iter_mut().find(|across| same(across.requirement)) {
                    Some(across) => across.rows.push((index, run, row)),
                    None => all.push(Self { requirement: row, rows: vec![(index, run, row)] }),
                }
            }
        }
        all
    }

    fn count(&self, verdict: Verdict) -> usize {
        self.rows.iter().filter(|(_, _, row)| row.verdict == verdict).count()
    }

    fn verdict(&self) -> Verdict {
        [Verdict::Violated, Verdict::Inconclusive]
            .into_iter()
            .find(|verdict| self.count(*verdict) > 0)
            .unwrap_or(Verdict::Held)
    }

    /// The run that came closest to breaking it, or broke it most.
    fn closest(&self) -> Option<&(usize, &'a RunReport, &'a Requirement)> {
        let finite = |row: &Requirement| row.margin.filter(|margin| margin.is_finite());
        self.rows
            .iter()
            .filter_map(|row| Some((row, finite(row.2)?)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(row, _)| row)
    }
}

/// Every requirement with its smallest margin over all runs; nothing when there is but one run.
fn across(data: &ReportData) -> Markup {
    let all = Across::of(data);
    if data.runs.len() < 2 || all.is_empty() {
        return Markup::default();
    }
    html! {
        h3 { "Requirements over all runs" }
        table class="requirements stack" {
            thead { tr { th { "Held in" } th { "No." } th { "Requirement" } th class="right" { "Smallest margin" } th { "In" } } }
            tbody {
                @for across in &all {
                    tr class=(tables::word(across.verdict())) {
                        td class="verdict" { (glyph_count(across)) }
                        th scope="row" { (across.requirement.id) }
                        td class="sentence" {
                            p { (across.requirement.sentence) }
                            @if !across.requirement.hazard.is_empty() {
                                p class="aside" { b { "Hazard" } " " (across.requirement.hazard) }
                            }
                        }
                        @if let Some((index, run, row)) = across.closest() {
                            td class="right margin" data-label="smallest margin" { (tables::margin(row.margin, &row.unit)) }
                            td class="where" data-label="in" { (place(*index, run, row)) }
                        } @else {
                            td class="right margin" { "–" }
                            td class="where" {}
                        }
                    }
                }
            }
        }
    }
}

fn glyph_count(across: &Across<'_>) -> Markup {
    html! { (tables::glyph(across.verdict())) " " (across.count(Verdict::Held)) " of " (across.rows.len()) }
}

fn place(index: usize, run: &RunReport, row: &Requirement) -> Markup {
    let id = page::run_id(index, run);
    let plots = if run.time.is_empty() { String::new() } else { format!("{id}-plots") };
    html! {
        a href={ "#" (id) } { (run.title) }
        @if let Some(at) = row.at { ", " (Plots { anchor: &plots }.time(at)) }
    }
}

/// The sheet of comparisons.
pub(super) fn comparisons(comparisons: &[Comparison]) -> Result<Sheet, ReportError> {
    let mut drawn = Vec::new();
    for (index, comparison) in comparisons.iter().enumerate() {
        let still = svg::lanes(&figure::of_comparison(comparison)?);
        let data = format!("comparison-{}", index + 1);
        drawn.push(html! {
            section class="comparison" {
                h3 { (comparison.title) }
                @if !comparison.caption.is_empty() { p class="lead" { (comparison.caption) } }
                div class="board" data-board=(data) { div class="stills" { figure { (still.inline()) } } }
                script type="application/json" id=(data) { (PreEscaped(payload::of_comparison(comparison).json())) }
            }
        });
    }
    let body = html! {
        header { p class="over" { "Side by side" } h2 { "Comparisons" } }
        @for comparison in drawn { (comparison) }
    };
    Ok(Sheet { id: "comparisons".into(), name: "Comparisons".into(), verdict: None, body })
}

/// The sheet of further tables.
pub(super) fn further_tables(further: &[Table]) -> Sheet {
    let body = html! {
        header { p class="over" { "From the declaration" } h2 { "Tables" } }
        @for table in further {
            h3 { (table.title) }
            @if !table.caption.is_empty() { p class="lead" { (table.caption) } }
            (tables::plain(table))
        }
    };
    Sheet { id: "tables".into(), name: "Tables".into(), verdict: None, body }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(sentence: &str) -> RunReport {
        let row = Requirement { id: "S-01".into(), sentence: sentence.into(), ..Requirement::default() };
        RunReport { requirements: vec![row], ..RunReport::default() }
    }

    #[test]
    fn one_number_with_two_sentences_is_two_requirements() {
        let runs = vec![run("it stops"), run("it moves"), run("it stops")];
        let data = ReportData { runs, ..ReportData::default() };
        let counts: Vec<(&str, usize)> = Across::of(&data)
            .iter()
            .map(|across| (across.requirement.sentence.as_str(), across.rows.len()))
            .collect();
        assert_eq!(counts, [("it stops", 2), ("it moves", 1)]);
    }
}
