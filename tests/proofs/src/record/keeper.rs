//! Outcomes of a whole run as lines of JSON, so that a run that was ended goes on where it was.

use std::{
    fs::{self, OpenOptions},
    io::Write,
    path::{Path, PathBuf},
};

use serde::{Deserialize, Serialize};

use super::Entry;
use crate::{
    proof::Kind,
    sources::{self, Basis},
};

/// Where what was done lies in the project, from its top folder.
pub const KEPT: &str = "tests/proofs/record/sweeps_and_walks.jsonl";

#[derive(Serialize, Deserialize)]
struct Line {
    sources: String,
    #[serde(flatten)]
    entry: Entry,
}

/// The outcomes of the present sources.
pub struct Keeper {
    path: PathBuf,
    entries: Vec<Entry>,
    basis: Basis,
}

impl Keeper {
    /// Reads what the project keeps and what this clone has done since.
    pub fn open() -> Result<Self, String> {
        let target = std::env::var_os("CARGO_TARGET_DIR")
            .map_or_else(|| sources::root().join("target"), PathBuf::from);
        let path = target.join("prove").join("proofs.jsonl");
        let read = |path: &Path| fs::read_to_string(path).unwrap_or_default();
        let text = read(&sources::root().join(KEPT)) + &read(&path);
        let lines = text.lines().filter_map(|line| serde_json::from_str::<Line>(line).ok());
        let basis = basis()?;
        let present = |line: &Line| {
            line.entry.kind != Kind::Property
                && line.sources == basis.hash_for(line.entry.kind, &line.entry.block)
        };
        let entries = lines.filter(present).map(|line| line.entry).collect();
        Ok(Self { path, entries, basis })
    }

    /// What was done.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The outcome of a proof, where it held.
    pub fn of(&self, name: &str) -> Option<&Entry> {
        self.entries.iter().rev().find(|entry| entry.name == name && entry.outcome.findings.is_empty())
    }

    /// Writes what held into the project, so that another clone goes on there.
    pub fn keep_in_project(entries: &[Entry]) -> Result<(), String> {
        let (mut text, basis) = (String::new(), basis()?);
        for entry in entries.iter().filter(|entry| entry.outcome.findings.is_empty()) {
            let line = Line { sources: basis.hash_for(entry.kind, &entry.block), entry: entry.clone() };
            text.push_str(&serde_json::to_string(&line).map_err(|error| error.to_string())?);
            text.push('\n');
        }
        let path = sources::root().join(KEPT);
        let told = |error| format!("{KEPT}: {error}");
        fs::create_dir_all(path.parent().unwrap_or(Path::new("."))).map_err(told)?;
        fs::write(path, text).map_err(told)
    }

    /// Keeps an outcome.
    pub fn keep(&mut self, entry: Entry) -> Result<(), String> {
        let told = |error| format!("{}: {error}", self.path.display());
        if let Some(folder) = self.path.parent() {
            fs::create_dir_all(folder).map_err(told)?;
        }
        let line = Line { sources: self.basis.hash_for(entry.kind, &entry.block), entry: entry.clone() };
        let text = serde_json::to_string(&line).map_err(|error| error.to_string())?;
        let mut file = OpenOptions::new().create(true).append(true).open(&self.path).map_err(told)?;
        writeln!(file, "{text}").map_err(told)?;
        self.entries.push(entry);
        Ok(())
    }
}

fn basis() -> Result<Basis, String> {
    Basis::read().map_err(|error| format!("the sources cannot be read: {error}"))
}
