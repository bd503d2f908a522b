//! Where the project lies, and a hash of what was proven, so that a record of other sources is seen to be one.

use std::{
    fs, io,
    path::{Path, PathBuf},
    process::Command,
};

use sha2::{Digest, Sha256};

/// What a result depends on.
const FOLDERS: &[&str] = &["crates/trunnion/src", "crates/trunnion-can/src", "tests/proofs/src"];

/// The top folder.
pub fn root() -> PathBuf {
    // tests/proofs lies two below it.
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).unwrap_or(Path::new(".")).to_owned()
}

/// Hash over names and texts of all sources, the first 16 digits of SHA-256.
pub fn hash() -> io::Result<String> {
    let mut hasher = Sha256::new();
    for folder in FOLDERS {
        for (name, text) in files(folder)? {
            hasher.update(name.as_bytes());
            hasher.update([0]);
            hasher.update(text.as_bytes());
        }
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
        let core = files("crates/trunnion/src").unwrap_or_default();
        assert!(core.iter().any(|(name, _)| name.ends_with("guard/neutral_start.rs")), "{}", core.len());
    }
}
