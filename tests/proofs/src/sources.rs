//! Where the project lies, and a hash of what was proven, so that a record of other sources is seen to be one.

use std::{
    fs, io,
    path::{Path, PathBuf},
    process::Command,
};

use sha2::{Digest, Sha256};

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

/// The same over what a result of this kind depends on: a new walk does not make a sweep of an hour stale, nor does a test
/// or a comment in the core.
pub fn hash_for(kind: Kind) -> io::Result<String> {
    let parts: &[&str] = match kind {
        Kind::Sweep => &["/sweep.rs", "/maps.rs", "/maps/"],
        Kind::Walk => &["/walk.rs", "/walk/", "/walks.rs", "/walks/"],
        Kind::Property => &[],
    };
    let proofs = files(PROOFS)?;
    let of_kind = |path: &str| parts.iter().any(|part| path.starts_with(&format!("{PROOFS}{part}")));
    let proofs = proofs.into_iter().filter(|(path, _)| of_kind(path));
    Ok(digest(code_of(CORE)?.into_iter().chain(proofs)))
}

/// The same over what a property of this block of a crate depends on: the code of the crate and of what it stands on, as it
/// is built into a machine, and the tests of the block. `trunnion` knows nothing of the crates above it.
pub fn hash_for_property(folder: &str, block: &str) -> io::Result<String> {
    let through = CORE.iter().position(|core| core.starts_with(&format!("{folder}/")));
    let core = through.and_then(|last| CORE.get(..=last)).unwrap_or(CORE);
    let own = format!("{folder}/src/{block}");
    let tests = files(&format!("{folder}/src"))?
        .into_iter()
        .filter(|(path, _)| *path == format!("{own}.rs") || path.starts_with(&format!("{own}/tests")));
    let tests = tests.map(|(path, text)| (path, lines_of_code(&text)));
    Ok(digest(code_of(core)?.into_iter().chain(tests)))
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

fn lines_of_code(text: &str) -> String {
    let mut code = String::new();
    for line in text.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with("//")) {
        code.push_str(line);
        code.push('\n');
    }
    code
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
    fn the_hash_is_the_same_twice_and_sees_the_core() {
        assert_eq!(hash().ok(), hash().ok());
        assert_ne!(hash_for(Kind::Sweep).ok(), hash_for(Kind::Walk).ok());
        let of = |block| hash_for_property("crates/trunnion", block).ok();
        assert_ne!(of("guard/lock"), of("guard/neutral_start"));
        let core = files("crates/trunnion/src").unwrap_or_default();
        assert!(core.iter().any(|(name, _)| name.ends_with("guard/neutral_start.rs")), "{}", core.len());
    }

    #[test]
    fn a_comment_and_a_test_are_no_code() {
        let text =
            "//! What.\n\nfn a() {\n    // Why.\n    b()\n}\n\n#[cfg(test)]\nmod tests {\n    fn c() {}\n}\n";
        assert_eq!(lines_of_code(text.split(TESTS).next().unwrap_or_default()), "fn a() {\nb()\n}\n");
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
