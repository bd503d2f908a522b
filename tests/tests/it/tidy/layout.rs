//! Files and functions of a size that can be read, with names that say what is in them.

use super::{code, report, tree};

const LONGEST_FILE: usize = 600;
/// A function may have this many lines, signature included.
const LONGEST_FUNCTION: usize = 60;
/// Names that gather what nobody could place.
const PLACELESS: &[&str] = &["utils", "util", "common", "helpers", "helper", "misc"];

#[test]
fn no_source_file_is_longer_than_600_lines() {
    let long = |file: &tree::File| {
        let lines = file.text.lines().count();
        let source = file.is_rust() || file.path.ends_with(".py");
        (source && lines > LONGEST_FILE).then(|| format!("{}: {lines} lines", file.path))
    };
    report(tree::files().iter().filter_map(long).collect(), "A file holds one block: split it.");
}

#[test]
fn no_function_of_the_product_is_longer_than_60_lines() {
    let mut findings = Vec::new();
    for file in tree::product() {
        for (line, name, length) in code::functions(&code::of_the_product(&file.text)) {
            if length > LONGEST_FUNCTION {
                findings.push(format!("{}:{line}: `{name}` has {length} lines", file.path));
            }
        }
    }
    report(findings, "Give its parts names.");
}

#[test]
fn no_file_is_named_after_nothing() {
    let placeless = |file: &tree::File| {
        let folder = file.path.split('/').any(|part| PLACELESS.contains(&part));
        (folder || PLACELESS.contains(&file.stem())).then(|| file.path.clone())
    };
    report(tree::files().iter().filter_map(placeless).collect(), "Name it after what it holds.");
}

#[test]
fn no_comment_is_a_banner() {
    let mut findings = Vec::new();
    for file in tree::files().iter().filter(|file| file.is_rust()) {
        for (index, line) in file.text.lines().enumerate() {
            let Some(comment) = line.trim().strip_prefix("//") else { continue };
            let mut drawn = comment.trim().chars();
            if comment.trim().len() > 3 && drawn.all(|letter| "-=*#/~_".contains(letter)) {
                findings.push(format!("{}:{}: {}", file.path, index + 1, line.trim()));
            }
        }
    }
    report(findings, "A module says what a banner would.");
}

#[test]
fn every_package_has_one_integration_test_binary_at_most() {
    let mut findings = Vec::new();
    for folder in packages() {
        let mut names = tree::names(&format!("{folder}/tests"));
        // Where proptest keeps the inputs that once failed.
        names.retain(|name| name != "proptest-regressions/");
        let one_folder = names.len() < 2 && names.iter().all(|name| name.ends_with('/'));
        if !one_folder {
            findings.push(format!("{folder}/tests: {}", names.join(", ")));
        }
    }
    report(findings, "Make them modules of one `tests/it/main.rs`: each binary more is linked again.");
}

#[test]
fn every_package_takes_the_lints_of_the_workspace() {
    let mut findings = Vec::new();
    for folder in packages() {
        let manifest = tree::read(&format!("{folder}/Cargo.toml"));
        if !manifest.contains("[lints]\nworkspace = true") {
            findings.push(format!("{folder}/Cargo.toml"));
        }
    }
    report(findings, "Add `[lints]` with `workspace = true`.");
}

/// The folders of all packages.
fn packages() -> Vec<String> {
    let mut folders = ["tests", "tests/proofs", "xtask"].map(str::to_owned).to_vec();
    for group in ["crates", "examples"] {
        let members = tree::names(group).into_iter().filter(|name| name.ends_with('/'));
        folders.extend(members.map(|name| format!("{group}/{}", name.trim_end_matches('/'))));
    }
    folders
}
