//! Tells the linker where the board's memory is, for the image only.

use std::path::PathBuf;
use std::{env, fs};

fn main() {
    println!("cargo::rerun-if-changed=firmware/memory.x");
    if env::var_os("CARGO_CFG_TARGET_OS").is_none_or(|system| system != "none") {
        return;
    }
    let out = PathBuf::from(env::var_os("OUT_DIR").expect("cargo sets OUT_DIR"));
    fs::copy("firmware/memory.x", out.join("memory.x")).expect("firmware/memory.x is copied to OUT_DIR");
    println!("cargo::rustc-link-search={}", out.display());
    // cortex-m-rt lays out vectors, code and data; defmt lays out the texts of its log lines.
    for argument in ["-Tlink.x", "-Tdefmt.x", "--nmagic", "--gc-sections"] {
        println!("cargo::rustc-link-arg-bin=loader-firmware={argument}");
    }
}
