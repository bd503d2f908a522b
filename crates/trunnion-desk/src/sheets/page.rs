//! All sheets on one page that prints.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::Sheet;

const STYLE: &str = include_str!("page.css");
/// What holds for the papers of every machine.
pub const PAPERS_CAUTIONS: &[&str] = &[
    "Written from the program's declaration. Compare it with the drawing and with the machine in front of you before you \
     rely on it.",
    "Parameters of access \"safety\" are part of the machine's risk assessment: whoever changes one repeats the tests \
     that depend on it.",
    "No safety certification is claimed.",
];

/// Who the papers are of.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'a> {
    /// The machine, as on its drawing.
    pub title: &'a str,
    /// What the page is.
    pub kind: &'a str,
    /// What holds for such a page of every machine.
    pub standing: &'a [&'a str],
    /// A sentence or two on it.
    pub about: &'a str,
    /// Version of its program.
    pub version: &'a str,
    /// Cautions of its own.
    pub cautions: &'a [&'a str],
}

/// One page of HTML with every sheet: no network, no script, the same bytes each time.
pub fn printable(subject: &Subject<'_>, sheets: &[Sheet]) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (subject.title) ", " (subject.kind) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    p.over { (subject.kind) }
                    h1 { (subject.title) }
                    p.about { (subject.about) }
                    p.version { "Program version " (subject.version) }
                }
                nav { ol { @for sheet in sheets {
                    li { a href={ "#" (anchor(sheet)) } { (sheet.title) } " " span { (sheet.rows.len()) " rows" } }
                } } }
                section.cautions {
                    h2 { "Cautions" }
                    ul {
                        @for caution in subject.standing { li { (caution) } }
                        @for caution in subject.cautions { li { (caution) } }
                    }
                }
                @for sheet in sheets { (section(sheet)) }
            }
        }
    };
    page.into_string()
}

fn anchor(sheet: &Sheet) -> String {
    sheet.title.to_lowercase().replace(' ', "-")
}

fn section(sheet: &Sheet) -> Markup {
    html! {
        section id=(anchor(sheet)) {
            h2 { (sheet.title) }
            table {
                thead { tr { @for name in &sheet.heading { th scope="col" { (name) } } } }
                tbody { @for row in &sheet.rows { tr { @for cell in row { (drawn(cell)) } } } }
            }
        }
    }
}

/// What a cell begins with that says what is missing.
pub const GAP: &str = "GAP";

/// Numbers are set to the right, as in a column of a drawing.
fn drawn(cell: &str) -> Markup {
    let number = !cell.is_empty() && cell.chars().all(|letter| letter.is_ascii_digit() || letter == '.');
    html! {
        @if number { td.number { (cell) } }
        @else if cell.starts_with(GAP) { td.gap { (cell) } }
        @else { td { (cell) } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_carries_every_cell_escaped_and_the_cautions() {
        let sheet = Sheet {
            title: "Wiring list".into(),
            heading: vec!["pin", "what"],
            rows: vec![vec!["X1:1".into(), "below 5 <V> & more".into()], vec!["12".into(), "x".into()]],
        };
        let subject = Subject {
            kind: "Papers",
            standing: PAPERS_CAUTIONS,
            title: "A machine",
            about: "It digs.",
            version: "1",
            cautions: &["Hot."],
        };
        let page = printable(&subject, &[sheet]);
        assert!(page.contains("below 5 &lt;V&gt; &amp; more") && page.contains("<li>Hot.</li>"));
        assert!(page.contains("<td class=\"number\">12</td>") && page.contains("href=\"#wiring-list\""));
        assert!(!page.contains("http"), "it needs no network");
    }
}
