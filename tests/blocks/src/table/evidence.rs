//! What others say of a block: independent checks and exhaustive proofs.

use std::{fs, path::Path};

use proofs::{
    catalogue::{self, Listed},
    proof::Kind,
};

use super::source::read;

/// Independent checks, by block.
pub struct Checks(Vec<(String, String)>);

impl Checks {
    /// From the marks at the heads of the tests.
    pub fn read(top: &Path) -> Result<Self, String> {
        let folder = top.join("tests/tests/it");
        let entries = fs::read_dir(&folder).map_err(|error| format!("{}: {error}", folder.display()))?;
        let mut paths: Vec<_> = entries.flatten().map(|entry| entry.path()).collect();
        paths.retain(|path| path.extension().is_some_and(|ending| ending == "rs"));
        paths.sort_unstable();
        let mut marks = Vec::new();
        for path in paths {
            let file = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or("").to_owned();
            let text = read(&path)?;
            let lines = text.lines().filter_map(|line| line.strip_prefix("//! Checks: "));
            for key in lines.flat_map(|line| line.trim_end_matches('.').split(", ")) {
                marks.push((key.to_owned(), file.clone()));
            }
        }
        Ok(Self(marks))
    }

    /// Files that check a block.
    pub fn of(&self, keys: &[String; 2]) -> impl Iterator<Item = &str> {
        self.0.iter().filter(|(key, _)| keys.contains(key)).map(|(_, file)| file.as_str())
    }

    /// All blocks that are named.
    #[cfg(test)]
    pub fn keys(&self) -> impl Iterator<Item = &String> {
        self.0.iter().map(|(key, _)| key)
    }
}

/// All sweeps and walks.
pub struct Proofs(Vec<Listed>);

impl Proofs {
    /// As the package `proofs` lists them. Properties in the long mode are told with the properties.
    pub fn listed() -> Self {
        let mut listed: Vec<Listed> = catalogue::all().iter().map(catalogue::listed).collect();
        listed.retain(|proof| proof.kind != Kind::Property);
        Self(listed)
    }

    /// Those of a block.
    pub fn of(&self, keys: &[String; 2]) -> impl Iterator<Item = &Listed> {
        self.0.iter().filter(|proof| keys.contains(&proof.block))
    }

    /// All blocks that are named.
    #[cfg(test)]
    pub fn keys(&self) -> impl Iterator<Item = &String> {
        self.0.iter().map(|proof| &proof.block)
    }
}
