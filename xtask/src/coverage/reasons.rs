//! Why a line is not reached, written by hand.

use std::{collections::BTreeMap, fs};

use serde::Deserialize;

use super::measure::Measured;
use crate::workspace::Workspace;

/// Where the reasons are.
pub const PATH: &str = "crates/trunnion/uncovered.toml";

/// All reasons.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reasons {
    #[serde(default, rename = "line")]
    lines: Vec<Line>,
}

/// One line, or several of the same words in a file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    /// Path from the workspace's top folder.
    path: String,
    /// The line without its indentation.
    text: String,
    /// How often it is there and not reached.
    #[serde(default = "once")]
    times: usize,
    /// Why.
    reason: String,
}

fn once() -> usize {
    1
}

/// What does not fit.
#[derive(Debug, Default)]
pub struct Found {
    /// Lines not reached, without a reason.
    pub unexplained: Vec<String>,
    /// Reasons without such a line, or without words.
    pub stale: Vec<String>,
}

impl Reasons {
    /// Reads the reasons; a file that is not there holds none.
    pub fn read(workspace: &Workspace) -> Result<Self, String> {
        let path = workspace.root.join(PATH);
        if !path.is_file() {
            return Ok(Self::default());
        }
        let text = fs::read_to_string(&path).map_err(|error| format!("{PATH}: {error}"))?;
        toml::from_str(&text).map_err(|error| format!("{PATH}: {error}"))
    }

    /// Holds the reasons against what was measured.
    pub fn held_against(&self, measured: &Measured) -> Found {
        let mut missed: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
        for (path, file) in &measured.files {
            for (number, text) in &file.missed_lines {
                missed.entry((path, text)).or_default().push(*number);
            }
        }
        let mut found = Found::default();
        for line in &self.lines {
            let there = missed.remove(&(line.path.as_str(), line.text.as_str())).unwrap_or_default();
            if there.len() != line.times || line.reason.trim().is_empty() {
                found.stale.push(format!("{}: `{}` ({} times)", line.path, line.text, there.len()));
            }
        }
        for ((path, text), numbers) in missed {
            found.unexplained.extend(numbers.iter().map(|number| format!("{path}:{number}: {text}")));
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::coverage::measure::File;

    fn measured(lines: &[(usize, &str)]) -> Measured {
        let missed_lines = lines.iter().map(|(number, text)| (*number, (*text).to_owned())).collect();
        let file = File { lines: 10, missed_lines, ..File::default() };
        Measured { files: BTreeMap::from([("a.rs".to_owned(), file)]) }
    }

    fn reasons(text: &str) -> Reasons {
        toml::from_str(text).unwrap()
    }

    const ONE: &str = "[[line]]\npath = 'a.rs'\ntext = '}'\nreason = 'never'\n";

    #[test]
    fn a_line_without_reason_and_a_reason_without_line_are_both_found() {
        assert!(reasons(ONE).held_against(&measured(&[(3, "}")])).unexplained.is_empty());
        assert_eq!(reasons("").held_against(&measured(&[(3, "}")])).unexplained, ["a.rs:3: }"]);
        assert_eq!(reasons(ONE).held_against(&measured(&[])).stale.len(), 1);
    }

    #[test]
    fn the_same_words_twice_want_to_be_said_and_a_reason_wants_words() {
        assert_eq!(reasons(ONE).held_against(&measured(&[(3, "}"), (7, "}")])).stale.len(), 1);
        let twice = format!("{ONE}times = 2\n");
        assert!(reasons(&twice).held_against(&measured(&[(3, "}"), (7, "}")])).stale.is_empty());
        let wordless = ONE.replace("never", " ");
        assert_eq!(reasons(&wordless).held_against(&measured(&[(3, "}")])).stale.len(), 1);
    }
}
