//! The page around the sheets: head, navigation, style and script.

use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use super::check::ReportError;
use super::data::{ReportData, RunReport, Verdict};
use super::tables::{glyph, slug};
use super::{overview, palette, run_sheet, svg};

const STYLE: [&str; 4] = [
    include_str!("style/page.css"),
    include_str!("style/tables.css"),
    include_str!("style/board.css"),
    include_str!("style/print.css"),
];

/// The parts of the script, in the order in which they lean on each other.
pub(super) const SCRIPT: [&str; 12] = [
    include_str!("script/codec.js"),
    include_str!("script/axis.js"),
    include_str!("script/source.js"),
    include_str!("script/paint.js"),
    include_str!("script/lane.js"),
    include_str!("script/strip.js"),
    include_str!("script/gestures.js"),
    include_str!("script/top_view.js"),
    include_str!("script/signals.js"),
    include_str!("script/board.js"),
    include_str!("script/sheets.js"),
    include_str!("script/start.js"),
];

/// A sheet of the report.
pub(super) struct Sheet {
    /// Anchor.
    pub(super) id: String,
    /// Name in the navigation.
    pub(super) name: String,
    /// How its requirements came out, if it has any.
    pub(super) verdict: Option<Verdict>,
    pub(super) body: Markup,
}

/// The whole page.
pub(super) fn page(data: &ReportData) -> Result<String, ReportError> {
    let mut sheets = vec![overview::sheet(data)];
    for (index, run) in data.runs.iter().enumerate() {
        sheets.push(run_sheet::sheet(run, index)?);
    }
    if !data.comparisons.is_empty() {
        sheets.push(overview::comparisons(&data.comparisons)?);
    }
    if !data.tables.is_empty() {
        sheets.push(overview::further_tables(&data.tables));
    }
    // Hashed as a browser sees them: without carriage returns, which a checkout may have added.
    let style = svg::printable(format!("{}{}{}", palette::rules(), svg::RULES, STYLE.concat()));
    let script = svg::printable(format!("(function(){{\"use strict\";\n{}}})();\n", SCRIPT.concat()));
    let title = [data.machine.as_str(), data.title.as_str()]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" – ");
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy(&style, &script));
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content={ "trunnion-desk " (env!("CARGO_PKG_VERSION")) };
                link rel="icon" href="data:,";
                title { (title) }
                style { (PreEscaped(&style)) }
            }
            body {
                (symbols())
                a class="skip" href="#overview" { "To the summary" }
                div class="desk" {
                    (navigation(data, &sheets))
                    main { @for (index, sheet) in sheets.iter().enumerate() { (frame(&sheets, index, sheet)) } }
                }
                script { (PreEscaped(&script)) }
            }
        }
    };
    Ok(svg::printable(page.into_string()))
}

/// Nothing from outside, and inside only the style and the script that were written here.
pub(super) fn policy(style: &str, script: &str) -> String {
    format!(
        "default-src 'none'; style-src 'sha256-{}'; script-src 'sha256-{}'; img-src data:; base-uri 'none'; \
         form-action 'none'",
        base64(&Sha256::digest(style.as_bytes())),
        base64(&Sha256::digest(script.as_bytes())),
    )
}

/// Base 64 with padding (RFC 4648, section 4), which a content policy wants hashes in.
fn base64(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for chunk in bytes.chunks(3) {
        let block = (0..3).fold(0, |block, at| block << 8 | u32::from(chunk.get(at).copied().unwrap_or(0)));
        for place in 0..4 {
            let digit = DIGITS[(block >> (18 - 6 * place) & 63) as usize];
            text.push(if place <= chunk.len() { char::from(digit) } else { '=' });
        }
    }
    text
}

fn frame(sheets: &[Sheet], index: usize, sheet: &Sheet) -> Markup {
    let link = |at: usize, before: &str, after: &str| {
        sheets.get(at).map(|other| html! { a href={ "#" (other.id) } { (before) (other.name) (after) } })
    };
    html! {
        section class="sheet" id=(sheet.id) {
            (sheet.body)
            footer {
                span { @if let Some(previous) = index.checked_sub(1) { (link(previous, "← ", "").unwrap_or_default()) } }
                span class="count" { "Sheet " (index + 1) " of " (sheets.len()) }
                span { (link(index + 1, "", " →").unwrap_or_default()) }
            }
        }
    }
}

fn navigation(data: &ReportData, sheets: &[Sheet]) -> Markup {
    html! {
        nav aria-label="Sheets" {
            p class="brand" { (data.machine) }
            details open {
                summary { span class="word" { "Sheet" } " " span class="current" {} }
                ol {
                    @for (index, sheet) in sheets.iter().enumerate() {
                        li {
                            a href={ "#" (sheet.id) } data-name=(sheet.name) {
                                span class="no" { (index + 1) }
                                span { (sheet.name) }
                                @if let Some(verdict) = sheet.verdict { (glyph(verdict)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The verdict of a run: the worst of its requirements.
pub(super) fn worst(run: &RunReport) -> Option<Verdict> {
    [Verdict::Violated, Verdict::Inconclusive, Verdict::Held]
        .into_iter()
        .find(|verdict| run.count(*verdict) > 0)
}

/// Shapes that are told apart without colour.
fn symbols() -> Markup {
    html! {
        svg class="symbols" width="0" height="0" aria-hidden="true" {
            symbol id="g-held" viewBox="0 0 16 16" {
                rect x="1" y="1" width="14" height="14" rx="2" class="fill" {}
                path d="M4.2 8.4l2.7 2.7 5-6" class="cut" {}
            }
            symbol id="g-violated" viewBox="0 0 16 16" {
                path d="M3 3l10 10M13 3 3 13" class="cross" {}
            }
            symbol id="g-inconclusive" viewBox="0 0 16 16" {
                circle cx="8" cy="8" r="6.6" class="ring" {}
                path d="M5 8h6" class="ring" {}
            }
        }
    }
}

/// Anchor of a run's sheet.
pub(super) fn run_id(index: usize, run: &RunReport) -> String {
    format!("run-{}-{}", index + 1, slug(&run.title))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_gives_the_vectors_of_its_standard() {
        // RFC 4648, section 10.
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(bytes.as_bytes()), text);
        }
    }

    #[test]
    fn the_policy_admits_the_style_and_the_script_that_stand_in_the_page() {
        let page = page(&ReportData::default()).unwrap();
        let inside = |tag: &str| {
            let start = page.rfind(&format!("<{tag}>")).unwrap() + tag.len() + 2;
            &page[start..start + page[start..].find(&format!("</{tag}>")).unwrap()]
        };
        assert!(inside("script").contains("class Board") && inside("style").contains("--line-0"));
        let policy = policy(inside("style"), inside("script"));
        assert!(page.contains(&policy), "{policy}");
    }
}
