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
/// All of the proofs.
const PROOFS: &str = "tests/proofs/src";

/// The top folder.
pub fn root() -> PathBuf {
    // tests/proofs lies two below it.
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).unwrap_or(Path::new(".")).to_owned()
}

/// Hash over names and texts of all sources, the first 16 digits of SHA-256.
pub fn hash() -> io::Result<String> {
    hash_of(|_| true)
}

/// The same over what a result of this kind depends on: a new walk does not make a sweep of an hour stale.
pub fn hash_for(kind: Kind) -> io::Result<String> {
    let parts: &[&str] = match kind {
        Kind::Sweep => &["/sweep.rs", "/maps.rs", "/maps/"],
        Kind::Walk => &["/walk.rs", "/walk/", "/walks.rs", "/walks/"],
        Kind::Property => &[],
    };
    hash_over(CORE, |path| parts.iter().any(|part| path.starts_with(&format!("{PROOFS}{part}"))))
}

/// The same over what the properties of one crate depend on: `trunnion` knows nothing of the crates above it.
pub fn hash_for_properties(folder: &str) -> io::Result<String> {
    let through = CORE.iter().position(|core| core.starts_with(&format!("{folder}/")));
    hash_over(through.and_then(|last| CORE.get(..=last)).unwrap_or(CORE), |_| false)
}

fn hash_of(counts: impl Fn(&str) -> bool) -> io::Result<String> {
    hash_over(CORE, counts)
}

fn hash_over(core: &[&str], counts: impl Fn(&str) -> bool) -> io::Result<String> {
    let mut hasher = Sha256::new();
    let proofs = files(PROOFS)?.into_iter().filter(|(path, _)| counts(path));
    let mut all: Vec<(String, String)> = Vec::new();
    for folder in core {
        all.extend(files(folder)?);
    }
    for (path, text) in all.into_iter().chain(proofs) {
        hasher.update(path.as_bytes());
        hasher.update([0]);
        hasher.update(text.as_bytes());
    }
    let digest = hasher.finalize();
    Ok(digest.iter().take(8).map(|byte| format!("{byte:02x}")).collect())
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
        let core = files("crates/trunnion/src").unwrap_or_default();
        assert!(core.iter().any(|(name, _)| name.ends_with("guard/neutral_start.rs")), "{}", core.len());
    }
}
