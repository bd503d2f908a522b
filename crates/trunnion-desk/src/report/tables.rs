//! The tables of the report, and small pieces that several sheets share.

use maud::{Markup, html};

use super::axis;
use super::data::{FaultEvent, LogLine, Parity, Requirement, Table, Verdict, WhyNot};

/// Links into the plots of a run.
#[derive(Clone, Copy)]
pub(super) struct Plots<'a> {
    /// Anchor of the plots; empty when there are none.
    pub(super) anchor: &'a str,
}

impl Plots<'_> {
    /// A time that takes the cursor there.
    pub(super) fn time(self, at: f64) -> Markup {
        let text = html! { (axis::number(at, 2)) "\u{202f}s" };
        if self.anchor.is_empty() || !at.is_finite() {
            return text;
        }
        html! { a class="time" href={ "#" (self.anchor) } data-at=(at) title="Show this instant in the plots" { (text) } }
    }
}

/// A verdict as a shape with a name for screen readers.
pub(super) fn glyph(verdict: Verdict) -> Markup {
    let name = word(verdict);
    html! {
        svg class={ "glyph " (name) } role="img" aria-label=(name) {
            title { (name) }
            use href={ "#g-" (name) } {}
        }
    }
}

/// A verdict as a word.
pub(super) fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Held => "held",
        Verdict::Violated => "violated",
        Verdict::Inconclusive => "inconclusive",
    }
}

/// A margin with its sign and unit.
pub(super) fn margin(margin: Option<f64>, unit: &str) -> Markup {
    match margin {
        Some(value) if value.is_finite() => html! {
            @if value > 0.0 { "+" } (axis::significant(value))
            @if !unit.is_empty() { "\u{202f}" span class="unit" { (unit) } }
        },
        _ => html! { "–" },
    }
}

/// Whether host and firmware agreed: a short word.
pub(super) fn parity_word(parity: &Parity) -> Markup {
    match parity {
        Parity::BitForBit { .. } => html! { (glyph(Verdict::Held)) " equal" },
        Parity::Differs { .. } => html! { (glyph(Verdict::Violated)) " differs" },
        Parity::Skipped(_) | Parity::NotCompared => html! { (glyph(Verdict::Inconclusive)) " not compared" },
    }
}

/// A whole number in groups of three.
pub(super) fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push('\u{202f}');
        }
        text.push(digit);
    }
    text
}

/// A name that can stand in an anchor.
pub(super) fn slug(name: &str) -> String {
    let lower = name.to_lowercase();
    let parts = lower.split(|c: char| !c.is_ascii_alphanumeric()).filter(|part| !part.is_empty());
    parts.take(6).collect::<Vec<_>>().join("-")
}

/// The requirements of one run.
pub(super) fn requirements(rows: &[Requirement], plots: Plots<'_>) -> Markup {
    html! {
        table class="requirements stack" {
            thead { tr { th { "Verdict" } th { "No." } th { "Requirement" } th class="right" { "Margin" } th class="right" { "Closest at" } } }
            tbody {
                @for row in rows {
                    tr class=(word(row.verdict)) {
                        td class="verdict" { (glyph(row.verdict)) " " (word(row.verdict)) }
                        th scope="row" { (row.id) }
                        td class="sentence" {
                            p { (row.sentence) }
                            @if !row.hazard.is_empty() { p class="aside" { b { "Hazard" } " " (row.hazard) } }
                            @if !row.explanation.is_empty() { p class="aside" { b { "Seen" } " " (row.explanation) } }
                        }
                        td class="right margin" data-label="margin" { (margin(row.margin, &row.unit)) }
                        td class="right" data-label="closest at" {
                            @if let Some(at) = row.at { (plots.time(at)) } @else { "–" }
                        }
                    }
                }
            }
        }
    }
}

/// Faults from raised to healed.
pub(super) fn faults(events: &[FaultEvent], plots: Plots<'_>) -> Markup {
    html! {
        table class="stack" {
            thead { tr { th { "Raised" } th { "Healed" } th { "Code" } th { "Fault" } th { "Reaction" } } }
            tbody {
                @for event in events {
                    tr {
                        td class="nowrap" data-label="raised" { (plots.time(event.at)) }
                        td class="nowrap" data-label="healed" {
                            @if let Some(until) = event.until { (plots.time(until)) } @else { "stays" }
                        }
                        td class="nowrap" { code { (event.code) } }
                        td { (event.text) }
                        td data-label="reaction" { (event.reaction) }
                    }
                }
            }
        }
    }
}

/// Spans without permission.
pub(super) fn why_not(spans: &[WhyNot], plots: Plots<'_>) -> Markup {
    html! {
        table class="stack" {
            thead { tr { th { "From" } th { "Until" } th { "Group" } th { "Would move if these changed" } } }
            tbody {
                @for span in spans {
                    tr {
                        td class="nowrap" data-label="from" { (plots.time(span.from)) }
                        td class="nowrap" data-label="until" { (plots.time(span.until)) }
                        td { (span.group) }
                        td { (span.reasons.join(" · ")) }
                    }
                }
            }
        }
    }
}

/// Lines of a log.
pub(super) fn log(lines: &[LogLine], plots: Plots<'_>) -> Markup {
    html! {
        ol class="log" {
            @for line in lines {
                li {
                    span class="when" { @if let Some(at) = line.at { (plots.time(at)) } }
                    span class="source" { (line.source) }
                    span { (line.text) }
                }
            }
        }
    }
}

/// A table of text.
pub(super) fn plain(table: &Table) -> Markup {
    html! {
        table class="plain stack" {
            thead { tr { @for head in &table.head { th { (head) } } } }
            tbody {
                @for row in &table.rows {
                    tr { @for (index, cell) in row.iter().enumerate() { td data-label=[table.head.get(index)] { (cell) } } }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn margins_carry_sign_and_unit_and_say_when_there_is_none() {
        assert!(margin(Some(0.25), "s").into_string().starts_with("+0.25"));
        assert!(margin(Some(-3.0), "mA").into_string().starts_with("−3"));
        assert_eq!(margin(None, "s").into_string(), "–");
        assert_eq!(margin(Some(f64::INFINITY), "s").into_string(), "–");
    }

    #[test]
    fn large_numbers_are_grouped() {
        assert_eq!(grouped(48_320), "48\u{202f}320");
        assert_eq!(grouped(999), "999");
        assert_eq!(grouped(1_000_000), "1\u{202f}000\u{202f}000");
    }

    #[test]
    fn anchors_hold_only_letters_digits_and_dashes() {
        assert_eq!(
            slug("Seat left while driving, \"sat\" down <again> & more"),
            "seat-left-while-driving-sat-down"
        );
    }
}
