//! What a campaign has done: one line of JSON a piece, so that nothing is lost when a run is ended.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs::{self, File, OpenOptions},
    io::Write,
    path::{Path, PathBuf},
};

use serde::{Deserialize, Serialize};

use super::{Done, PIECE, discover::properties};
use crate::sources::{self, Basis};

/// Where what was done lies in the project, from its top folder: whole pieces only, one line a property.
pub const KEPT: &str = "tests/proofs/record/properties.jsonl";

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

/// Pieces of one property from the first seed on, all of [`PIECE`] cases.
#[derive(Serialize, Deserialize)]
struct Kept {
    sources: String,
    property: String,
    pieces: u64,
    seconds: f64,
}

impl Kept {
    fn each(&self) -> impl Iterator<Item = Piece> {
        let seconds = self.seconds / self.pieces.max(1) as f64;
        let piece = move |seed| Piece { property: self.property.clone(), seed, cases: PIECE, seconds };
        (1..=self.pieces).map(piece)
    }
}

/// The pieces of the present sources.
pub struct Ledger {
    file: File,
    path: PathBuf,
    /// Hash of the sources that a property depends on.
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
        let basis = Basis::read().map_err(|error| format!("the sources cannot be read: {error}"))?;
        for property in properties()? {
            let function = property.test.rsplit("::").next().unwrap_or_default();
            let hash = basis.hash_for_property(&property.folder, &property.file, function);
            hashes.insert(property.name, hash);
        }
        let kept = fs::read_to_string(sources::root().join(KEPT)).unwrap_or_default();
        Self::at(&target.join("prove").join("properties.jsonl"), &kept, hashes)
    }

    fn at(path: &Path, kept: &str, sources: BTreeMap<String, String>) -> Result<Self, String> {
        let told = |error| format!("{}: {error}", path.display());
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(told)?;
        }
        let text = fs::read_to_string(path).unwrap_or_default();
        let lines = text.lines().filter_map(|line| serde_json::from_str::<Line>(line).ok());
        let kept: Vec<Kept> = kept.lines().filter_map(|line| serde_json::from_str(line).ok()).collect();
        let kept = kept.iter().flat_map(|line| line.each().map(|piece| (line.sources.clone(), piece)));
        let all = kept.chain(lines.map(|line| (line.sources, line.piece)));
        let mut known = BTreeSet::new();
        let pieces: Vec<Piece> = all
            .filter(|(of, piece)| sources.get(&piece.property) == Some(of))
            .map(|(_, piece)| piece)
            .filter(|piece| known.insert((piece.property.clone(), piece.seed, piece.cases)))
            .collect();
        let file = OpenOptions::new().create(true).append(true).open(path).map_err(told)?;
        Ok(Self { file, path: path.to_owned(), sources, pieces, known })
    }

    /// Whether this piece was done.
    pub fn has(&self, property: &str, seed: u64, cases: u64) -> bool {
        self.known.contains(&(property.to_owned(), seed, cases))
    }

    /// Notes a piece that held.
    pub fn note(&mut self, piece: Piece) -> Result<(), String> {
        let sources = self.sources.get(&piece.property).cloned().unwrap_or_default();
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

    /// What the project keeps of it: of each property the pieces from the first seed on, as far as none is missing.
    pub fn kept(&self) -> Result<String, String> {
        let mut seconds: BTreeMap<&str, BTreeMap<u64, f64>> = BTreeMap::new();
        for piece in self.pieces.iter().filter(|piece| piece.cases == PIECE) {
            seconds.entry(&piece.property).or_default().insert(piece.seed, piece.seconds);
        }
        let mut text = String::new();
        for (property, seeds) in seconds {
            let whole: Vec<f64> = (1..)
                .zip(&seeds)
                .take_while(|(wanted, (seed, _))| wanted == *seed)
                .map(|(_, (_, s))| *s)
                .collect();
            if whole.is_empty() {
                continue;
            }
            let line = Kept {
                sources: self.sources.get(property).cloned().unwrap_or_default(),
                property: property.to_owned(),
                pieces: whole.len() as u64,
                seconds: (whole.iter().sum::<f64>() * 10.0).round() / 10.0,
            };
            text.push_str(&serde_json::to_string(&line).map_err(|error| error.to_string())?);
            text.push('\n');
        }
        Ok(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_campaign_goes_on_where_it_was_and_forgets_other_sources() {
        let path = std::env::temp_dir().join(format!("ledger-{}.jsonl", std::process::id()));
        let _ = fs::remove_file(&path);
        let of = |hash: &str| {
            BTreeMap::from([("core a".to_owned(), hash.to_owned()), ("top b".to_owned(), "x".to_owned())])
        };
        let piece = Piece { property: "core a".to_owned(), seed: 1, cases: 10, seconds: 0.5 };
        let mut ledger = Ledger::at(&path, "", of("one")).unwrap();
        ledger.note(piece.clone()).unwrap();
        ledger.note(Piece { seed: 2, ..piece.clone() }).unwrap();
        ledger.note(Piece { property: "top b".to_owned(), ..piece }).unwrap();
        drop(ledger);
        let again = Ledger::at(&path, "", of("one")).unwrap();
        assert!(again.has("core a", 2, 10) && !again.has("core a", 3, 10) && !again.has("core a", 1, 11));
        assert_eq!(again.summary()["core a"], Done { cases: 20, seconds: 1.0 });
        let other = Ledger::at(&path, "", of("other")).unwrap().summary();
        assert_eq!(other.into_keys().collect::<Vec<_>>(), ["top b"], "what did not change still counts");
        let _ = fs::remove_file(&path);
    }

    #[test]
    fn what_the_project_keeps_are_the_pieces_from_the_first_on_and_they_count_in_another_clone() {
        let path =
            |name: &str| std::env::temp_dir().join(format!("kept-{name}-{}.jsonl", std::process::id()));
        let of = |hash: &str| BTreeMap::from([("core a".to_owned(), hash.to_owned())]);
        let [here, there] = ["here", "there"].map(path);
        for file in [&here, &there] {
            let _ = fs::remove_file(file);
        }
        let mut ledger = Ledger::at(&here, "", of("one")).unwrap();
        let piece = |seed| Piece { property: "core a".to_owned(), seed, cases: PIECE, seconds: 0.5 };
        for seed in [2, 1, 4] {
            ledger.note(piece(seed)).unwrap();
        }
        ledger.note(Piece { cases: 10, ..piece(3) }).unwrap();
        let kept = ledger.kept().unwrap();
        let other = Ledger::at(&there, &kept, of("one")).unwrap();
        assert_eq!([1, 2, 3, 4].map(|seed| other.has("core a", seed, PIECE)), [true, true, false, false]);
        assert_eq!(other.summary()["core a"], Done { cases: 2 * PIECE, seconds: 1.0 });
        assert_eq!(other.kept().unwrap(), kept);
        assert!(Ledger::at(&there, &kept, of("other")).unwrap().summary().is_empty(), "of other sources");
        // Both say the same: it counts once.
        assert_eq!(Ledger::at(&here, &kept, of("one")).unwrap().summary()["core a"].cases, 3 * PIECE + 10);
        for file in [here, there] {
            let _ = fs::remove_file(file);
        }
    }
}
