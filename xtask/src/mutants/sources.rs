//! The source files of the core crate, with a hash that says whether a file's campaign is still its own.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
};

use sha2::{Digest, Sha256};

use crate::workspace::Workspace;

/// The crate whose mutants are tried.
pub const CRATE: &str = "crates/trunnion";
/// Hexadecimal digits of a hash that the ledger keeps.
const DIGITS: usize = 16;
/// How a test module begins, in a file of this project.
const TESTS_ON: &str = "#[cfg(test)]\nmod tests";
/// The same, never compiled.
const TESTS_OFF: &str = "#[cfg(any())]\nmod tests";

/// All files of the crate: path from the workspace's top folder, and text.
pub struct Sources(BTreeMap<String, String>);

impl Sources {
    /// Reads the crate's source folder.
    pub fn read(workspace: &Workspace) -> Result<Self, String> {
        let mut files = BTreeMap::new();
        let mut folders = vec![workspace.root.join(CRATE).join("src")];
        while let Some(folder) = folders.pop() {
            for path in entries(&folder)? {
                if path.is_dir() {
                    folders.push(path);
                } else if path.extension().is_some_and(|extension| extension == "rs") {
                    let text =
                        fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
                    files.insert(workspace.shown(&path), text);
                }
            }
        }
        Ok(Self(files))
    }

    /// The files that may hold mutants, in order.
    pub fn paths(&self) -> impl Iterator<Item = &str> {
        self.0.keys().map(String::as_str).filter(|path| !is_test_module(path))
    }

    /// All files, test modules too.
    pub fn all(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(path, text)| (path.as_str(), text.as_str()))
    }

    /// A line, counted from 1, without its indentation; empty when there is none.
    pub fn line(&self, path: &str, number: usize) -> &str {
        let text = self.0.get(path).map_or("", String::as_str);
        text.lines().nth(number.saturating_sub(1)).unwrap_or("").trim()
    }

    /// What the outcome of a file's campaign rests on: its code and that of its test module. Comments, derives, blank
    /// lines and indentation do not count. Nor do other files, although a block leans on the quantities: a
    /// whole campaign from time to time (`--again`) makes up for that.
    pub fn hash(&self, path: &str) -> String {
        let mut hasher = Sha256::new();
        let below = format!("{}/tests", path.trim_end_matches(".rs"));
        for (other, text) in self.all().filter(|(other, _)| *other == path || other.starts_with(&below)) {
            hasher.update(other.as_bytes());
            for line in code_lines(text) {
                hasher.update(b"\n");
                hasher.update(line.as_bytes());
            }
        }
        let digits: String = hasher.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
        digits[..DIGITS].to_owned()
    }

    /// A file's text with its test module turned off, unless it is among those that are `kept`.
    pub fn with_tests_of(text: &str, path: &str, kept: Kept<'_>) -> String {
        let stays = match kept {
            Kept::All => true,
            Kept::Room(other) => room(other) == room(path),
            Kept::Own(other) => other == path,
        };
        if stays { text.to_owned() } else { text.replace(TESTS_ON, TESTS_OFF) }
    }
}

/// Whose tests a copy keeps.
#[derive(Debug, Clone, Copy)]
pub enum Kept<'a> {
    /// Those of the whole crate.
    All,
    /// Those of the room in which this file is.
    Room(&'a str),
    /// Those of this file.
    Own(&'a str),
}

/// `ramp` of `crates/trunnion/src/ramp/pair.rs`.
fn room(path: &str) -> &str {
    let below = path.split_once("/src/").map_or(path, |(_, below)| below);
    below.split_once(['/', '.']).map_or(below, |(room, _)| room)
}

fn code_lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines().map(str::trim).filter(|line| {
        !line.is_empty() && !line.starts_with("//") && *line != "#[doc(hidden)]" && !is_derive(line)
    })
}

/// A derived trait more or less makes no mutant of what was there.
fn is_derive(line: &str) -> bool {
    let begins = line.starts_with("#[derive(") || line.starts_with("#[cfg_attr(feature = ");
    begins && line.contains("derive(") && line.ends_with(")]")
}

fn is_test_module(path: &str) -> bool {
    path.ends_with("/tests.rs") || path.contains("/tests/")
}

/// The entries of a folder, in the order of their names.
pub fn entries(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let listed = fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut paths: Vec<PathBuf> = listed.flatten().map(|entry| entry.path()).collect();
    paths.sort_unstable();
    Ok(paths)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sources(files: &[(&str, &str)]) -> Sources {
        Sources(files.iter().map(|(path, text)| ((*path).to_owned(), (*text).to_owned())).collect())
    }

    #[test]
    fn a_comment_does_not_make_a_file_stale_and_code_or_its_test_does() {
        let hash = |text, test| sources(&[("a.rs", text), ("a/tests.rs", test)]).hash("a.rs");
        let first = hash("fn a() {}\n", "one");
        assert_eq!(first, hash("/// What a does.\nfn a() {}\n\n", "one"));
        assert_eq!(first, hash("#[derive(Debug)]\nfn a() {}\n", "one"));
        assert_ne!(first, hash("fn a() { b() }\n", "one"));
        assert_ne!(first, hash("fn a() {}\n", "two"));
    }

    #[test]
    fn only_the_tests_of_the_file_in_question_stay_on() {
        let text = "fn a() {}\n#[cfg(test)]\nmod tests {}\n";
        let stays = |path, kept| Sources::with_tests_of(text, path, kept) == text;
        assert!(stays("c/src/ramp/a.rs", Kept::Own("c/src/ramp/a.rs")));
        assert!(!stays("c/src/ramp/a.rs", Kept::Own("c/src/ramp/b.rs")));
        assert!(stays("c/src/ramp/a.rs", Kept::Room("c/src/ramp/b/d.rs")));
        assert!(stays("c/src/ramp.rs", Kept::Room("c/src/ramp/b.rs")));
        assert!(!stays("c/src/ramp/a.rs", Kept::Room("c/src/valve/b.rs")));
        assert!(stays("c/src/ramp/a.rs", Kept::All));
    }

    #[test]
    fn test_modules_hold_no_mutants_and_every_file_of_the_crate_is_seen() {
        let sources = Sources::read(&Workspace::find().unwrap()).unwrap();
        assert!(sources.paths().all(|path| !path.ends_with("tests.rs")));
        assert!(sources.paths().any(|path| path == "crates/trunnion/src/ramp/pair_ramp.rs"));
        assert!(sources.line("crates/trunnion/src/lib.rs", 1).starts_with("//! Control blocks"));
    }
}
