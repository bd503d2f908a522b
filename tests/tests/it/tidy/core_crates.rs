//! What the controller runs: no float, no unsafe, no allocation, no hidden panic.

use super::{code, report, tree};

/// The crates that run on the controller and hold the control program's blocks.
const CORE: &[&str] = &["crates/trunnion/src/", "crates/trunnion-can/src/"];

/// Findings of a word in the product code of the core crates.
fn with_word(word: &str) -> Vec<String> {
    let mut findings = Vec::new();
    let mut looked_at = 0;
    for file in tree::product() {
        if CORE.iter().any(|folder| file.path.starts_with(folder)) {
            looked_at += 1;
            for line in code::lines_with_word(&code::of_the_product(&file.text), word) {
                findings.push(format!("{}:{line}: `{word}`", file.path));
            }
        }
    }
    assert!(looked_at >= CORE.len(), "only {looked_at} files looked at");
    findings
}

#[test]
fn core_crates_know_no_floating_point() {
    let findings = ["f32", "f64"].into_iter().flat_map(with_word).collect();
    report(findings, "Use `Ratio` or a quantity; floats differ between host and target.");
}

#[test]
fn core_crates_hold_no_unsafe_code_and_forbid_it() {
    report(with_word("unsafe"), "Find a safe way.");
    for folder in CORE {
        let map = tree::read(&format!("{folder}lib.rs"));
        for attribute in ["#![no_std]", "#![forbid(unsafe_code)]"] {
            assert!(map.lines().any(|line| line == attribute), "{folder}lib.rs lacks `{attribute}`");
        }
    }
}

#[test]
fn core_crates_do_not_allocate() {
    let findings = ["alloc", "std", "Box"].into_iter().flat_map(with_word).collect();
    report(findings, "Use arrays or `heapless`, with the bound in the type.");
}

/// `Ord::clamp` panics when its bounds cross, and no lint says so.
#[test]
fn core_crates_do_not_clamp() {
    report(with_word("clamp"), "Write `.max(low).min(high)`: it cannot panic.");
}
