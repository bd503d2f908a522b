//! Inputs that are kept: one file each, in a folder of their target.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The corpus that is part of the sources.
pub fn folder(target: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus").join(target)
}

/// All inputs of a folder, by name; none when there is no folder.
///
/// # Errors
/// When a file cannot be read.
pub fn read(folder: &Path) -> io::Result<Vec<Vec<u8>>> {
    let Ok(entries) = fs::read_dir(folder) else { return Ok(Vec::new()) };
    let mut paths: Vec<PathBuf> = entries.map(|entry| Ok(entry?.path())).collect::<io::Result<_>>()?;
    paths.sort();
    paths.iter().map(fs::read).collect()
}

/// Writes an input under a name that follows from its bytes.
///
/// # Errors
/// When the folder cannot be written to.
pub fn keep(folder: &Path, input: &[u8]) -> io::Result<PathBuf> {
    fs::create_dir_all(folder)?;
    // FNV-1a, 64 bits: a name, no more.
    let hash = input.iter().fold(0xCBF2_9CE4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x100_0000_01B3)
    });
    let path = folder.join(format!("{hash:016x}"));
    fs::write(&path, input)?;
    Ok(path)
}
