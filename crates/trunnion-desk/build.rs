//! Tells the program which compiler made it, for the provenance of reports.

use std::env;
use std::process::Command;

fn main() {
    let compiler = env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let answer = Command::new(compiler).arg("--version").output();
    let version = answer.ok().filter(|answer| answer.status.success()).map(|answer| answer.stdout);
    let version = version.and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default();
    let known = Some(version.trim()).filter(|version| !version.is_empty());
    println!("cargo::rustc-env=TRUNNION_COMPILER={}", known.unwrap_or("not known"));
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-env-changed=RUSTC");
}
