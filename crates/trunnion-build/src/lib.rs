//! What the build script of every machine does, in one call.
//!
//! ```text
//! fn main() {            // build.rs of examples/roller
//!     trunnion_build::machine();
//! }
//! ```
//!
//! - For the bare target it lays out the board's memory and tells the linker of the binary `PACKAGE-firmware`.
//! - For the host it writes `scenarios.rs` into the output folder: a list of name and text of every file in the machine's
//!   folder `scenarios`, so that a new one is taken up without a line of code. The desk program includes it.
//!
//! It panics where a file cannot be read or written: that is how a build script tells Cargo.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs};

/// Memory of the board that the images are made for.
const MEMORY: &str = include_str!("mps2_an386.x");

/// Does all that the machine of this package needs.
pub fn machine() {
    let out = PathBuf::from(variable("OUT_DIR"));
    println!("cargo::rerun-if-changed=scenarios");
    if env::var_os("CARGO_CFG_TARGET_OS").is_some_and(|system| system == "none") {
        lay_out_memory(&out, &variable("CARGO_PKG_NAME"));
    } else {
        let list = list_of_scenarios(&Path::new(&variable("CARGO_MANIFEST_DIR")).join("scenarios"));
        fs::write(out.join("scenarios.rs"), list).expect("the list of scenarios is written to OUT_DIR");
    }
}

fn variable(name: &str) -> String {
    env::var(name).unwrap_or_else(|error| panic!("{name}, which Cargo sets for build scripts: {error}"))
}

fn lay_out_memory(out: &Path, package: &str) {
    fs::write(out.join("memory.x"), MEMORY).expect("the board's memory is written to OUT_DIR");
    println!("cargo::rustc-link-search={}", out.display());
    // cortex-m-rt lays out vectors, code and data; defmt lays out the texts of its log lines.
    for argument in ["-Tlink.x", "-Tdefmt.x", "--nmagic", "--gc-sections"] {
        println!("cargo::rustc-link-arg-bin={package}-firmware={argument}");
    }
}

/// Every file of the folder that ends in `.scenario`, by name, as an array expression of name and text.
fn list_of_scenarios(folder: &Path) -> String {
    let files = fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut paths: Vec<PathBuf> = files.filter_map(|file| Some(file.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "scenario"));
    paths.sort();
    let mut list = String::from("&[\n");
    for path in &paths {
        let name = path.file_stem().unwrap_or_default().to_string_lossy();
        writeln!(list, "    ({name:?}, include_str!({path:?})),").expect("a String takes every line");
    }
    list.push(']');
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scenarios_are_listed_by_name_and_nothing_else_is() {
        let folder = env::temp_dir().join(format!("trunnion-build-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        for name in ["hill.scenario", "brake.scenario", "notes.txt"] {
            fs::write(folder.join(name), "").unwrap();
        }
        let list = list_of_scenarios(&folder);
        fs::remove_dir_all(&folder).unwrap();
        let names: Vec<&str> = list.lines().filter_map(|line| line.split('"').nth(1)).collect();
        assert_eq!(names, ["brake", "hill"]);
        assert!(list.starts_with("&[") && list.ends_with(']') && list.contains("include_str!"));
    }
}
