//! What each file's campaign came to, kept in the repository so that an unchanged file is not run again.

use std::{collections::BTreeMap, fs};

use serde::{Deserialize, Serialize};

use crate::workspace::Workspace;

/// Where the ledger is.
pub const PATH: &str = "crates/trunnion/mutants.toml";
/// Where the sources are that it tells of.
const SOURCES: &str = "crates/trunnion/src/";
const HEAD: &str = "\
# Outcome of each mutant of this crate, by file. `cargo xtask mutants` writes it; of a survivor, only `reason` is
# written by hand: why no test can or need tell the mutant from the original. A survivor without reason fails the verb.
# `hash` is of the file's code and tests without comments; when it differs, the entry is stale and the file is run again.
";

/// The ledger.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ledger {
    /// One entry a source file, in the order of their paths.
    #[serde(default, rename = "file")]
    pub files: Vec<Entry>,
}

/// What the campaign of one file came to.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Path from the workspace's top folder; written as seen from the crate's sources.
    #[serde(with = "below_sources")]
    pub path: String,
    /// Hash of what was run.
    pub hash: String,
    /// Mutants in all.
    pub mutants: usize,
    /// Mutants with which a test failed.
    pub caught: usize,
    /// Mutants with which the tests did not end.
    pub timeout: usize,
    /// Mutants that do not compile.
    pub unviable: usize,
    /// Mutants with which every test passed.
    #[serde(default, rename = "survivor", skip_serializing_if = "Vec::is_empty")]
    pub survivors: Vec<Survivor>,
}

/// Paths in the ledger begin with the room.
mod below_sources {
    use serde::{Deserialize, Deserializer, Serializer};

    use super::SOURCES;

    pub fn serialize<S: Serializer>(path: &str, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(path.strip_prefix(SOURCES).unwrap_or(path))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<String, D::Error> {
        String::deserialize(deserializer).map(|path| format!("{SOURCES}{path}"))
    }
}

/// A mutant that no test told from the original.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Survivor {
    /// What was changed, numbered when the file has several such mutants.
    pub mutant: String,
    /// The line of source it was changed in.
    pub line: String,
    /// Why that is no gap; empty when nobody has said so yet.
    pub reason: String,
}

impl Ledger {
    /// Reads the ledger; one that is not there is empty.
    pub fn read(workspace: &Workspace) -> Result<Self, String> {
        let path = workspace.root.join(PATH);
        if !path.is_file() {
            return Ok(Self::default());
        }
        let text = fs::read_to_string(&path).map_err(|error| format!("{PATH}: {error}"))?;
        toml::from_str(&text).map_err(|error| format!("{PATH}: {error}"))
    }

    /// Writes the ledger.
    pub fn write(&self, workspace: &Workspace) -> Result<(), String> {
        let text = toml::to_string_pretty(self).map_err(|error| format!("{PATH}: {error}"))?;
        fs::write(workspace.root.join(PATH), format!("{HEAD}\n{text}"))
            .map_err(|error| format!("{PATH}: {error}"))
    }

    /// The entry of a file.
    pub fn entry(&self, path: &str) -> Option<&Entry> {
        self.files.iter().find(|entry| entry.path == path)
    }

    /// Takes the outcome of a new run. A reason stays when the same mutant of the same line survived again.
    pub fn put(&mut self, mut fresh: Entry) {
        if let Some(old) = self.entry(&fresh.path) {
            let reasons: BTreeMap<_, _> =
                old.survivors.iter().map(|one| ((&one.mutant, &one.line), &one.reason)).collect();
            for survivor in &mut fresh.survivors {
                if let Some(reason) = reasons.get(&(&survivor.mutant, &survivor.line)) {
                    survivor.reason = (*reason).clone();
                }
            }
        }
        self.files.retain(|entry| entry.path != fresh.path);
        self.files.push(fresh);
        self.files.sort_by(|one, other| one.path.cmp(&other.path));
    }

    /// Survivors that nobody has given a reason for, as `file: mutant`.
    pub fn unexplained(&self) -> Vec<String> {
        let name = |entry: &Entry, survivor: &Survivor| {
            format!("{}: {}\n        in `{}`", entry.path, survivor.mutant, survivor.line)
        };
        let of = |entry| {
            let all = |entry: &Entry| -> Vec<String> {
                entry
                    .survivors
                    .iter()
                    .filter(|one| one.reason.trim().is_empty())
                    .map(|one| name(entry, one))
                    .collect()
            };
            all(entry)
        };
        self.files.iter().flat_map(of).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn survivor(mutant: &str, line: &str, reason: &str) -> Survivor {
        Survivor { mutant: mutant.to_owned(), line: line.to_owned(), reason: reason.to_owned() }
    }

    fn entry(survivors: Vec<Survivor>) -> Entry {
        Entry { path: format!("{SOURCES}a.rs"), mutants: 3, survivors, ..Entry::default() }
    }

    #[test]
    fn a_reason_stays_with_its_mutant_until_the_line_changes() {
        let mut ledger = Ledger::default();
        ledger.put(entry(vec![survivor("+ to -", "a + b", "because"), survivor("< to >", "a < b", "so")]));
        ledger.put(entry(vec![survivor("+ to -", "a + b", ""), survivor("< to >", "a < c", "")]));
        let reasons: Vec<&str> = ledger.files[0].survivors.iter().map(|one| one.reason.as_str()).collect();
        assert_eq!(reasons, ["because", ""]);
        assert_eq!(ledger.unexplained().len(), 1);
    }

    #[test]
    fn what_is_written_is_read_back() {
        let mut ledger = Ledger::default();
        ledger.put(entry(vec![survivor("replace == with !=", "if \"a\" == b {", "no")]));
        let text = format!("{HEAD}\n{}", toml::to_string_pretty(&ledger).unwrap());
        assert_eq!(toml::from_str::<Ledger>(&text).unwrap(), ledger);
    }
}
