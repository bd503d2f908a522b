//! The sheet of one run.

use maud::{Markup, PreEscaped, html};

use super::axis;
use super::check::ReportError;
use super::data::{Parity, RunReport, Verdict};
use super::page::{self, Sheet};
use super::tables::{self, Plots};
use super::timeline::{self, Timeline};
use super::{figure, payload, svg};

/// Rows of a table of events beyond which it starts folded.
const LONG: usize = 12;

/// Draws the sheet.
pub(super) fn sheet(run: &RunReport, index: usize) -> Result<Sheet, ReportError> {
    let id = page::run_id(index, run);
    let events = timeline::timeline(run);
    let something = !run.columns.is_empty() || events.group.is_some() || run.path.is_some();
    let drawn = something && !run.time.is_empty();
    let anchor = if drawn { format!("{id}-plots") } else { String::new() };
    let plots = Plots { anchor: &anchor };
    let body = html! {
        (head(run, index))
        @if !run.requirements.is_empty() {
            h3 { "Requirements" }
            (tables::requirements(&run.requirements, plots))
        }
        @if drawn {
            h3 id=(anchor) { "Plots" }
            (board(run, &events, index)?)
        }
        (folding("Faults raised", run.faults.len(), || tables::faults(&run.faults, plots)))
        (folding("Spans without permission", run.why_not.len(), || tables::why_not(&run.why_not, plots)))
        (folding("Log", run.log.len(), || tables::log(&run.log, plots)))
    };
    Ok(Sheet { id, name: run.title.clone(), verdict: page::worst(run), body })
}

fn head(run: &RunReport, index: usize) -> Markup {
    html! {
        header class="run-head" {
            div {
                p class="over" { "Run " (index + 1) }
                h2 { (run.title) }
                @if !run.about.is_empty() { p class="lead" { (run.about) } }
            }
            dl class="block" {
                div { dt { "Requirements" } dd { (tally(run)) } }
                div { dt { "Simulated" } dd { (axis::significant(run.duration)) "\u{202f}s" } }
                div { dt { "Host and firmware" } dd { (tables::parity_word(&run.parity)) } }
                @if !run.hash.is_empty() { div class="wide" { dt { "Trace hash" } dd { code { (run.hash) } } } }
            }
            @match &run.parity {
                Parity::Differs { first, .. } => p class="note violated" { "First difference: " (first) },
                Parity::Skipped(why) => p class="note" { "Not compared with the firmware: " (why) },
                Parity::BitForBit { .. } | Parity::NotCompared => {}
            }
        }
    }
}

/// "7 of 8 held".
fn tally(run: &RunReport) -> Markup {
    if run.requirements.is_empty() {
        return html! { "none monitored" };
    }
    html! {
        @if let Some(verdict) = page::worst(run) { (tables::glyph(verdict)) " " }
        (run.count(Verdict::Held)) " of " (run.requirements.len()) " held"
    }
}

/// What the script brings to life, and the still pictures that stand in for it.
fn board(run: &RunReport, events: &Timeline, index: usize) -> Result<Markup, ReportError> {
    let data = format!("board-{}", index + 1);
    let top_view = svg::path(run);
    let mut stills = Vec::new();
    for group in events.group.iter().chain(&run.plots) {
        stills.push((group, svg::lanes(&figure::of_group(run, &events.columns, group)?)));
    }
    Ok(html! {
        div class={ "board" @if top_view.is_some() { " mapped" } } data-board=(data) {
            @if let Some(picture) = top_view {
                figure class="top-view" {
                    (picture.inline())
                    figcaption { "Path driven, seen from above; the shaded machine stands at the cursor." }
                }
            }
            div class="stills" {
                @for (group, picture) in stills {
                    figure {
                        h4 { (group.title) }
                        @if !group.caption.is_empty() { p class="caption" { (group.caption) } }
                        (picture.inline())
                    }
                }
            }
        }
        script type="application/json" id=(data) { (PreEscaped(payload::of_run(run, events).json())) }
    })
}

/// A heading with a table that starts folded when it is long; nothing when it is empty.
fn folding(title: &str, rows: usize, table: impl Fn() -> Markup) -> Markup {
    html! {
        @if rows > 0 {
            details class="folding" open[rows <= LONG] {
                summary { (title) " " span class="unit" { (rows) } }
                (table())
            }
        }
    }
}
