//! The checked-in figures, one file for each toolchain, and what may not grow beyond them.

use std::{
    collections::BTreeMap,
    fmt::Write,
    fs,
    path::{Path, PathBuf},
};

use super::sheet::Sheet;
use crate::workspace::Workspace;

/// Growth of a figure, in percent, that is let pass.
const ALLOWED: u64 = 3;
const HEAD: &str = "subject,core,implementation,typical,largest,flash,state,stack";

/// What a row is about: subject, core, implementation.
pub type Key = (String, String, String);

/// What an implementation costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Figures {
    /// Instructions of the median step.
    pub typical: u64,
    /// Instructions of the longest step that was found.
    pub largest: u64,
    /// Bytes of code and constants, with its `new`; `None` for a twin in `f32`, which is not linked alone.
    pub flash: Option<u64>,
    /// Bytes of state, configuration included.
    pub state: u64,
    /// Bytes of stack below the call.
    pub stack: u64,
}

impl Figures {
    /// Of a sheet and a linked block.
    pub fn of(sheet: &Sheet, flash: Option<u64>) -> Self {
        let Sheet { typical, largest, state, stack, .. } = *sheet;
        Self { typical, largest, flash, state, stack }
    }

    fn named(&self) -> [(&'static str, u64); 5] {
        [
            ("typical instructions", self.typical),
            ("largest instructions", self.largest),
            ("flash bytes", self.flash.unwrap_or(0)),
            ("state bytes", self.state),
            ("stack bytes", self.stack),
        ]
    }
}

/// The figures of a toolchain.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Book {
    /// All rows.
    pub rows: BTreeMap<Key, Figures>,
}

/// Where the figures of a toolchain are kept.
pub fn path(workspace: &Workspace, toolchain: &str) -> PathBuf {
    workspace.root.join("tests/costs/budget").join(format!("{toolchain}.csv"))
}

impl Book {
    /// Reads a file; `None` when there is none.
    pub fn read(path: &Path) -> Result<Option<Self>, String> {
        match fs::read_to_string(path) {
            Ok(text) => Self::parse(&text)
                .map(Some)
                .map_err(|(line, why)| format!("{}:{line}: {why}", path.display())),
            Err(_) => Ok(None),
        }
    }

    fn parse(text: &str) -> Result<Self, (usize, String)> {
        let mut rows = BTreeMap::new();
        let lines = text.lines().enumerate().filter(|(_, line)| !line.starts_with('#') && *line != HEAD);
        for (index, line) in lines {
            let (key, figures) =
                row(line).ok_or_else(|| (index + 1, format!("expected `{HEAD}`, found `{line}`")))?;
            rows.insert(key, figures);
        }
        Ok(Self { rows })
    }

    /// The text of the file. `about` says how the figures came about.
    pub fn text(&self, about: &[String]) -> String {
        let mut text = String::new();
        for line in about {
            writeln!(text, "# {line}").expect("text");
        }
        writeln!(text, "{HEAD}").expect("text");
        for ((subject, core, implementation), figures) in &self.rows {
            let Figures { typical, largest, flash, state, stack } = figures;
            let flash = flash.map_or(String::new(), |bytes| bytes.to_string());
            writeln!(text, "{subject},{core},{implementation},{typical},{largest},{flash},{state},{stack}")
                .expect("text");
        }
        text
    }

    /// What grew beyond what is allowed, and what has no budget: twins have none.
    pub fn findings(&self, measured: &Self) -> Vec<String> {
        let mut findings = Vec::new();
        let ours = measured.rows.iter().filter(|((.., implementation), _)| implementation == "rust");
        for (key, now) in ours {
            let (subject, core, _) = key;
            let Some(before) = self.rows.get(key) else {
                findings.push(format!("{subject} on {core}: has no budget yet"));
                continue;
            };
            for ((what, before), (_, now)) in before.named().into_iter().zip(now.named()) {
                if now * 100 > before * (100 + ALLOWED) {
                    findings.push(format!("{subject} on {core}: {what} grew from {before} to {now}"));
                }
            }
        }
        findings
    }

    /// What became smaller by more than that.
    pub fn savings(&self, measured: &Self) -> usize {
        let smaller = |(key, now): &(&Key, &Figures)| {
            self.rows.get(*key).is_some_and(|before| {
                let pairs = before.named().into_iter().zip(now.named());
                pairs.into_iter().any(|((_, before), (_, now))| now * (100 + ALLOWED) < before * 100)
            })
        };
        measured.rows.iter().filter(smaller).count()
    }

    /// Takes over what was measured; with `all` measured, rows of what is no longer there go.
    pub fn take(&mut self, measured: &Self, all: bool) {
        if all {
            self.rows.clear();
        }
        self.rows.extend(measured.rows.clone());
    }
}

fn row(line: &str) -> Option<(Key, Figures)> {
    let parts: Vec<&str> = line.split(',').collect();
    let [subject, core, implementation, typical, largest, flash, state, stack] = parts.as_slice() else {
        return None;
    };
    let figures = Figures {
        typical: typical.parse().ok()?,
        largest: largest.parse().ok()?,
        flash: if flash.is_empty() { None } else { Some(flash.parse().ok()?) },
        state: state.parse().ok()?,
        stack: stack.parse().ok()?,
    };
    Some((((*subject).to_owned(), (*core).to_owned(), (*implementation).to_owned()), figures))
}

#[cfg(test)]
mod tests {
    use super::*;

    const BEFORE: Figures = Figures { typical: 100, largest: 200, flash: Some(300), state: 12, stack: 40 };

    fn book(figures: Figures) -> Book {
        let key = ("lever/axis".to_owned(), "M0".to_owned(), "rust".to_owned());
        Book { rows: BTreeMap::from([(key, figures)]) }
    }

    #[test]
    fn a_book_survives_being_written_and_read() {
        let mut book = book(BEFORE);
        let key = ("lever/axis".to_owned(), "M0".to_owned(), "float".to_owned());
        book.rows.insert(key, Figures { flash: None, ..BEFORE });
        let text = book.text(&["how".to_owned()]);
        assert!(text.starts_with("# how\nsubject,core"), "{text}");
        assert_eq!(Book::parse(&text).unwrap(), book);
        assert_eq!(Book::parse("a,b,c\n").unwrap_err().0, 1);
    }

    #[test]
    fn three_percent_pass_and_the_next_instruction_fails() {
        let budget = book(BEFORE);
        assert!(budget.findings(&book(Figures { typical: 103, largest: 206, ..BEFORE })).is_empty());
        let grown = budget.findings(&book(Figures { typical: 104, state: 13, ..BEFORE }));
        assert_eq!(grown.len(), 2);
        assert_eq!(grown[0], "lever/axis on M0: typical instructions grew from 100 to 104");
        assert_eq!(grown[1], "lever/axis on M0: state bytes grew from 12 to 13");
    }

    #[test]
    fn a_block_without_a_budget_is_a_finding_and_a_twin_without_one_is_not() {
        let mut measured = book(BEFORE);
        let key = ("lever/axis".to_owned(), "M0".to_owned(), "gcc".to_owned());
        measured.rows.insert(key, BEFORE);
        assert_eq!(Book::default().findings(&measured), ["lever/axis on M0: has no budget yet"]);
    }

    #[test]
    fn a_block_that_became_smaller_is_no_finding_and_is_counted() {
        let measured = book(Figures { flash: Some(200), ..BEFORE });
        assert!(book(BEFORE).findings(&measured).is_empty());
        assert_eq!(book(BEFORE).savings(&measured), 1);
        assert_eq!(book(BEFORE).savings(&book(BEFORE)), 0);
    }

    #[test]
    fn a_partial_run_keeps_the_rows_of_the_others() {
        let mut kept = book(BEFORE);
        let key = ("ramp/rate_limit".to_owned(), "M0".to_owned(), "rust".to_owned());
        let other = Book { rows: BTreeMap::from([(key, BEFORE)]) };
        kept.take(&other, false);
        assert_eq!(kept.rows.len(), 2);
        kept.take(&other, true);
        assert_eq!(kept.rows.len(), 1);
    }
}
