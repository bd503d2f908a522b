//! Outcomes of a whole run as lines of JSON, so that a run that was ended goes on where it was.

use std::{
    fs::{self, OpenOptions},
    io::Write,
    path::PathBuf,
};

use serde::{Deserialize, Serialize};

use super::Entry;
use crate::{proof::Kind, sources};

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
}

impl Keeper {
    /// Reads what this clone has done so far.
    pub fn open() -> Result<Self, String> {
        let target = std::env::var_os("CARGO_TARGET_DIR")
            .map_or_else(|| sources::root().join("target"), PathBuf::from);
        let path = target.join("prove").join("proofs.jsonl");
        let text = fs::read_to_string(&path).unwrap_or_default();
        let lines = text.lines().filter_map(|line| serde_json::from_str::<Line>(line).ok());
        let [sweeps, walks] = [hash(Kind::Sweep)?, hash(Kind::Walk)?];
        let present = |line: &Line| match line.entry.kind {
            Kind::Sweep => line.sources == sweeps,
            Kind::Walk => line.sources == walks,
            Kind::Property => false,
        };
        let entries = lines.filter(present).map(|line| line.entry).collect();
        Ok(Self { path, entries })
    }

    /// What was done.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The outcome of a proof, where it held.
    pub fn of(&self, name: &str) -> Option<&Entry> {
        self.entries.iter().rev().find(|entry| entry.name == name && entry.outcome.findings.is_empty())
    }

    /// Keeps an outcome.
    pub fn keep(&mut self, entry: Entry) -> Result<(), String> {
        let told = |error| format!("{}: {error}", self.path.display());
        if let Some(folder) = self.path.parent() {
            fs::create_dir_all(folder).map_err(told)?;
        }
        let line = Line { sources: hash(entry.kind)?, entry: entry.clone() };
        let text = serde_json::to_string(&line).map_err(|error| error.to_string())?;
        let mut file = OpenOptions::new().create(true).append(true).open(&self.path).map_err(told)?;
        writeln!(file, "{text}").map_err(told)?;
        self.entries.push(entry);
        Ok(())
    }
}

fn hash(kind: Kind) -> Result<String, String> {
    sources::hash_for(kind).map_err(|error| format!("the sources cannot be read: {error}"))
}
