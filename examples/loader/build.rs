//! Tells the linker where the board's memory is, for the image; lists the scenarios, for the desk.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs};

fn main() {
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    println!("cargo::rerun-if-changed=firmware/memory.x");
    println!("cargo::rerun-if-changed=scenarios");
    if env::var_os("CARGO_CFG_TARGET_OS").is_some_and(|system| system == "none") {
        lay_out_memory(&out);
    } else {
        list_scenarios(&out);
    }
}

fn lay_out_memory(out: &Path) {
    fs::copy("firmware/memory.x", out.join("memory.x")).expect("firmware/memory.x is copied to OUT_DIR");
    println!("cargo::rustc-link-search={}", out.display());
    // cortex-m-rt lays out vectors, code and data; defmt lays out the texts of its log lines.
    for argument in ["-Tlink.x", "-Tdefmt.x", "--nmagic", "--gc-sections"] {
        println!("cargo::rustc-link-arg-bin=loader-firmware={argument}");
    }
}

/// Every file of `scenarios`, by name: a new one is taken up without a line of code.
fn list_scenarios(out: &Path) {
    let folder =
        Path::new(&env::var("CARGO_MANIFEST_DIR").expect("cargo sets CARGO_MANIFEST_DIR")).join("scenarios");
    let files = fs::read_dir(&folder).expect("the folder of scenarios can be read");
    let mut paths: Vec<PathBuf> = files.filter_map(|file| Some(file.ok()?.path())).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "scenario"));
    paths.sort();
    let mut list = String::from("&[\n");
    for path in &paths {
        let name = path.file_stem().unwrap_or_default().to_string_lossy();
        writeln!(list, "    ({name:?}, include_str!({path:?})),").expect("a String takes every line");
    }
    list.push(']');
    fs::write(out.join("scenarios.rs"), list).expect("the list of scenarios is written to OUT_DIR");
}
