//! Where the project lies, and a hash of what was proven, so that a record of other sources is seen to be one.

mod rooms;

use std::{
    fs, io,
    path::{Path, PathBuf},
    process::Command,
};

use sha2::{Digest, Sha256};

use self::rooms::Rooms;
use crate::proof::Kind;

/// The core crates: what every result depends on.
const CORE: &[&str] = &["crates/trunnion/src", "crates/trunnion-can/src"];
/// How a file's tests begin, always at its end.
const TESTS: &str = "#[cfg(test)]\nmod tests";
/// All of the proofs.
const PROOFS: &str = "tests/proofs/src";

/// The top folder.
pub fn root() -> PathBuf {
    // tests/proofs lies two below it.
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).unwrap_or(Path::new(".")).to_owned()
}

/// Hash over names and texts of the core's code and of all proofs, the first 16 digits of SHA-256.
pub fn hash() -> io::Result<String> {
    Ok(digest(code_of(CORE)?.into_iter().chain(files(PROOFS)?)))
}

/// What results are of: the core's code by its rooms, the tests of its blocks, the proofs. Each result depends on a part of
/// that, so that a change in one room does not make an hour of sweeps in another stale.
pub struct Basis {
    rooms: Rooms,
    /// The code of all core crates.
    core: Vec<(String, String)>,
    /// Files of the core with their tests.
    whole: Vec<(String, String)>,
    proofs: Vec<(String, String)>,
}

impl Basis {
    /// Reads all of it.
    pub fn read() -> io::Result<Self> {
        let mut whole = Vec::new();
        for folder in CORE {
            whole.extend(files(folder)?);
        }
        let core = code_of(CORE)?;
        Ok(Self { rooms: Rooms::of(&core), core, whole, proofs: files(PROOFS)? })
    }

    /// Hash over what a sweep or a walk of this block depends on: the machinery of its kind, the files that are named after the
    /// block or name it, all of them where none does, and the rooms that those name.
    pub fn hash_for(&self, kind: Kind, block: &str) -> String {
        let folder = match kind {
            Kind::Sweep => "maps",
            Kind::Walk => "walks",
            Kind::Property => return String::new(),
        };
        let (room, file) = block.split_once('/').unwrap_or((block, ""));
        let within = format!("{PROOFS}/{folder}/");
        let named_after_it = format!("{within}{file}.rs");
        let in_words = format!("\"{block}\"");
        let is_own = |(path, text): &(String, String)| {
            *path == named_after_it || (path.starts_with(&within) && text.contains(&in_words))
        };
        let own: Vec<&str> =
            self.proofs.iter().filter(|proof| is_own(proof)).map(|(path, _)| path.as_str()).collect();
        let machinery: &[&str] = if kind == Kind::Sweep { &["/sweep.rs"] } else { &["/walk.rs", "/walk/"] };
        let of_kind = |path: &str| {
            machinery.iter().any(|part| path.starts_with(&format!("{PROOFS}{part}")))
                || path == format!("{PROOFS}/{folder}.rs")
                || if own.is_empty() { path.starts_with(&within) } else { own.contains(&path) }
        };
        let proofs = self.proofs.iter().filter(|(path, _)| of_kind(path)).cloned();
        let named: Vec<(String, String)> = proofs.collect();
        let code = if !own.is_empty() && self.rooms.has(room) {
            self.rooms.needed_by(room, named.iter().map(|(_, text)| text.as_str()))
        } else {
            self.core.clone()
        };
        digest(code.into_iter().chain(named))
    }

    /// Hash over what a property in this file of a crate depends on: the file with its tests but for the others of them, its
    /// room and the rooms that those name. What stands above `trunnion` may use all of it.
    pub fn hash_for_property(&self, folder: &str, file: &str, test: &str) -> String {
        let own = format!("{folder}/src/{file}");
        let of_file = |path: &str| path == format!("{own}.rs") || path.starts_with(&format!("{own}/tests"));
        let tests: Vec<(String, String)> = self
            .whole
            .iter()
            .filter(|(path, _)| of_file(path))
            .map(|(path, text)| (path.clone(), lines_of_code(&without_other_tests(text, test))))
            .collect();
        let room = file.split('/').next().unwrap_or(file);
        let code = if CORE.first().is_some_and(|core| core.starts_with(&format!("{folder}/"))) {
            self.rooms.needed_by(room, tests.iter().map(|(_, text)| text.as_str()))
        } else {
            self.core.clone()
        };
        digest(code.into_iter().chain(tests))
    }
}

fn digest(files: impl Iterator<Item = (String, String)>) -> String {
    let mut hasher = Sha256::new();
    for (path, text) in files {
        hasher.update(path.as_bytes());
        hasher.update([0]);
        hasher.update(text.as_bytes());
    }
    hasher.finalize().iter().take(8).map(|byte| format!("{byte:02x}")).collect()
}

/// The code of these folders without tests and comments.
fn code_of(folders: &[&str]) -> io::Result<Vec<(String, String)>> {
    let mut all = Vec::new();
    for folder in folders {
        all.extend(files(folder)?);
    }
    all.retain(|(path, _)| !path.ends_with("/tests.rs") && !path.contains("/tests/"));
    for (_, text) in &mut all {
        *text = lines_of_code(text.split(TESTS).next().unwrap_or_default());
    }
    Ok(all)
}

/// Lines without comments, and without derives: a derived trait more or less changes nothing of what was there.
fn lines_of_code(text: &str) -> String {
    const DERIVES: [&str; 2] = ["#[derive(", "#[cfg_attr(feature = "];
    let is_derive = |line: &str| {
        DERIVES.iter().any(|begin| line.starts_with(begin))
            && line.contains("derive(")
            && line.ends_with(")]")
    };
    let mut code = String::new();
    for line in text.lines().map(str::trim) {
        if line.is_empty() || line.starts_with("//") || line == "#[doc(hidden)]" || is_derive(line) {
            continue;
        }
        code.push_str(line);
        code.push('\n');
    }
    code
}

/// A text without the functions that are tests, but for that of this name: a test more or less says nothing of it.
fn without_other_tests(text: &str, kept: &str) -> String {
    let mut left = String::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if line.trim_start() != "#[test]" {
            left.push_str(line);
            left.push('\n');
            continue;
        }
        // As formatted: the function ends with a brace that stands below its attribute.
        let end = format!("{}}}", line.trim_end_matches("#[test]"));
        let mut function: Vec<&str> = Vec::new();
        for line in lines.by_ref() {
            function.push(line);
            if line == end {
                break;
            }
        }
        let is_kept = |line: &&str| {
            let name = line.trim_start().strip_prefix("fn ").and_then(|rest| rest.split('(').next());
            name == Some(kept)
        };
        if function.iter().any(is_kept) {
            left.push_str(&function.join("\n"));
            left.push('\n');
        }
    }
    left
}

/// All Rust files below a folder, by path from the top, in order.
pub fn files(folder: &str) -> io::Result<Vec<(String, String)>> {
    let mut found = Vec::new();
    collect(&root(), folder, &mut found)?;
    found.sort_unstable();
    Ok(found)
}

fn collect(root: &Path, folder: &str, found: &mut Vec<(String, String)>) -> io::Result<()> {
    for entry in fs::read_dir(root.join(folder))? {
        let entry = entry?;
        let path = format!("{folder}/{}", entry.file_name().to_string_lossy());
        if entry.path().is_dir() {
            collect(root, &path, found)?;
        } else if path.ends_with(".rs") {
            found.push((path, fs::read_to_string(entry.path())?));
        }
    }
    Ok(())
}

/// The compiler that builds here, in its own words.
pub fn toolchain() -> String {
    let answer = Command::new("rustc").arg("--version").current_dir(root()).output();
    answer.map_or_else(
        |_| "unknown".to_owned(),
        |answer| String::from_utf8_lossy(&answer.stdout).trim().to_owned(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hash_is_the_same_twice_and_each_result_has_its_own() {
        assert_eq!(hash().ok(), hash().ok());
        let basis = Basis::read().unwrap();
        assert_ne!(basis.hash_for(Kind::Sweep, "lever/axis"), basis.hash_for(Kind::Walk, "lever/axis"));
        assert_ne!(basis.hash_for(Kind::Walk, "guard/lock"), basis.hash_for(Kind::Walk, "guard/creep"));
        let of = |block| basis.hash_for_property("crates/trunnion", block, "it_holds");
        assert_ne!(of("guard/lock"), of("guard/neutral_start"));
    }

    #[test]
    fn a_change_in_a_room_is_one_of_what_names_it_and_of_nothing_else() {
        let before = Basis::read().unwrap();
        let changed = |end: &str| {
            let mut core = before.core.clone();
            let place = core.iter().position(|(path, _)| path.ends_with(end)).unwrap();
            core[place].1.push_str("fn more() {}\n");
            Basis { rooms: Rooms::of(&core), core, whole: Vec::new(), proofs: before.proofs.clone() }
        };
        let is_stale =
            |basis: &Basis, kind, block| basis.hash_for(kind, block) != before.hash_for(kind, block);
        let ramp = changed("ramp/fine.rs");
        assert!(is_stale(&ramp, Kind::Walk, "ramp/motion_ramp"));
        assert!(is_stale(&ramp, Kind::Sweep, "can/joystick"), "nothing is known of the crates above");
        assert!(!is_stale(&ramp, Kind::Sweep, "lever/axis") && !is_stale(&ramp, Kind::Walk, "guard/lock"));
        let ratio = changed("quantity/ratio.rs");
        assert!(
            is_stale(&ratio, Kind::Sweep, "lever/axis") && is_stale(&ratio, Kind::Walk, "ramp/motion_ramp")
        );
    }

    #[test]
    fn a_property_depends_on_no_other_test_and_on_what_they_share() {
        let own =
            "proptest! {\n    #[test]\n    fn a_holds(x in 0..3) {\n        if x > 1 {\n        }\n    }\n";
        let other = "\n    #[test]\n    fn a_holds_not() {\n        b();\n    }\n";
        let shared = "}\n\nfn shared() {}\n";
        let left = without_other_tests(&format!("{own}{other}{shared}"), "a_holds");
        assert_eq!(left, format!("{}\n{shared}", own.replace("    #[test]\n", "")));
        assert_eq!(without_other_tests(&format!("{own}{shared}"), ""), format!("proptest! {{\n{shared}"));
    }

    #[test]
    fn a_comment_and_a_test_are_no_code() {
        let text =
            "//! What.\n\nfn a() {\n    // Why.\n    b()\n}\n\n#[cfg(test)]\nmod tests {\n    fn c() {}\n}\n";
        assert_eq!(lines_of_code(text.split(TESTS).next().unwrap_or_default()), "fn a() {\nb()\n}\n");
        let derived =
            "#[derive(Debug)]\n#[cfg_attr(feature = \"defmt\", derive(defmt::Format))]\n#[test]\nstruct A;\n";
        assert_eq!(lines_of_code(derived), "#[test]\nstruct A;\n");
        let code = code_of(CORE).unwrap_or_default();
        assert!(
            code.iter().all(|(_, text)| !text.contains("mod tests {")),
            "tests stand at the end of a file"
        );
        assert!(
            code.iter().any(|(path, _)| path.ends_with("four_verbs.rs")),
            "what all tests share counts as code"
        );
    }
}
