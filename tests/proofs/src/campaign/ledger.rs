//! What a campaign has done: one line of JSON a piece, so that nothing is lost when a run is ended.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs::{self, File, OpenOptions},
    io::Write,
    path::{Path, PathBuf},
};

use serde::{Deserialize, Serialize};

use super::{Done, discover::PACKAGES};
use crate::sources;

/// A piece that held.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Piece {
    /// Package and test.
    pub property: String,
    /// Seed of its inputs.
    pub seed: u64,
    /// Number of inputs.
    pub cases: u64,
    /// How long it took.
    pub seconds: f64,
}

#[derive(Serialize, Deserialize)]
struct Line {
    sources: String,
    piece: Piece,
}

/// The pieces of the present sources.
pub struct Ledger {
    file: File,
    path: PathBuf,
    /// Hash of the sources that a package's properties depend on.
    sources: BTreeMap<String, String>,
    pieces: Vec<Piece>,
    known: BTreeSet<(String, u64, u64)>,
}

impl Ledger {
    /// Opens the ledger of this clone, or begins one.
    pub fn open() -> Result<Self, String> {
        let target = std::env::var_os("CARGO_TARGET_DIR")
            .map_or_else(|| sources::root().join("target"), PathBuf::from);
        let mut hashes = BTreeMap::new();
        for (package, folder) in PACKAGES {
            let hash = sources::hash_for_properties(folder);
            let hash = hash.map_err(|error| format!("the sources cannot be read: {error}"))?;
            hashes.insert((*package).to_owned(), hash);
        }
        Self::at(&target.join("prove").join("properties.jsonl"), hashes)
    }

    fn at(path: &Path, sources: BTreeMap<String, String>) -> Result<Self, String> {
        let told = |error| format!("{}: {error}", path.display());
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(told)?;
        }
        let text = fs::read_to_string(path).unwrap_or_default();
        let lines = text.lines().filter_map(|line| serde_json::from_str::<Line>(line).ok());
        let pieces: Vec<Piece> = lines
            .filter(|line| sources.get(package(&line.piece)) == Some(&line.sources))
            .map(|line| line.piece)
            .collect();
        let known = pieces.iter().map(|piece| (piece.property.clone(), piece.seed, piece.cases)).collect();
        let file = OpenOptions::new().create(true).append(true).open(path).map_err(told)?;
        Ok(Self { file, path: path.to_owned(), sources, pieces, known })
    }

    /// Whether this piece was done.
    pub fn has(&self, property: &str, seed: u64, cases: u64) -> bool {
        self.known.contains(&(property.to_owned(), seed, cases))
    }

    /// Notes a piece that held.
    pub fn note(&mut self, piece: Piece) -> Result<(), String> {
        let sources = self.sources.get(package(&piece)).cloned().unwrap_or_default();
        let line = Line { sources, piece: piece.clone() };
        let text = serde_json::to_string(&line).map_err(|error| error.to_string())?;
        writeln!(self.file, "{text}").map_err(|error| format!("{}: {error}", self.path.display()))?;
        self.known.insert((piece.property.clone(), piece.seed, piece.cases));
        self.pieces.push(piece);
        Ok(())
    }

    /// By property.
    pub fn summary(&self) -> BTreeMap<String, Done> {
        let mut all: BTreeMap<String, Done> = BTreeMap::new();
        for piece in &self.pieces {
            let done = all.entry(piece.property.clone()).or_default();
            done.cases += piece.cases;
            done.seconds += piece.seconds;
        }
        all
    }
}

/// A property is named by its package and its test.
fn package(piece: &Piece) -> &str {
    piece.property.split(' ').next().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_campaign_goes_on_where_it_was_and_forgets_other_sources() {
        let path = std::env::temp_dir().join(format!("ledger-{}.jsonl", std::process::id()));
        let _ = fs::remove_file(&path);
        let of = |hash: &str| {
            BTreeMap::from([("core".to_owned(), hash.to_owned()), ("top".to_owned(), "x".to_owned())])
        };
        let piece = Piece { property: "core a".to_owned(), seed: 1, cases: 10, seconds: 0.5 };
        let mut ledger = Ledger::at(&path, of("one")).unwrap();
        ledger.note(piece.clone()).unwrap();
        ledger.note(Piece { seed: 2, ..piece.clone() }).unwrap();
        ledger.note(Piece { property: "top b".to_owned(), ..piece }).unwrap();
        drop(ledger);
        let again = Ledger::at(&path, of("one")).unwrap();
        assert!(again.has("core a", 2, 10) && !again.has("core a", 3, 10) && !again.has("core a", 1, 11));
        assert_eq!(again.summary()["core a"], Done { cases: 20, seconds: 1.0 });
        let other = Ledger::at(&path, of("other")).unwrap().summary();
        assert_eq!(other.into_keys().collect::<Vec<_>>(), ["top b"], "what did not change still counts");
        let _ = fs::remove_file(&path);
    }
}
