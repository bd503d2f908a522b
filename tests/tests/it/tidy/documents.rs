//! Documents say what is: commands exist, versions agree, every package says what it is for.

use super::{report, tree};

/// The verbs of `cargo xtask` with the flags that the sources of xtask know.
fn door() -> (Vec<String>, String) {
    let source = tree::read("xtask/src/main.rs");
    let body = source.split("enum Verb {").nth(1).and_then(|rest| rest.split('}').next()).expect("the verbs");
    let verbs: Vec<String> = body
        .lines()
        .map(str::trim)
        .filter(|line| line.starts_with(|letter: char| letter.is_ascii_uppercase()))
        .map(|line| {
            line.chars()
                .take_while(|letter| letter.is_ascii_alphanumeric())
                .collect::<String>()
                .to_lowercase()
        })
        .collect();
    assert!(verbs.iter().any(|verb| verb == "test"), "{verbs:?}");
    // A verb may have its options in a file of its own.
    let files = tree::files().into_iter().filter(|file| file.path.starts_with("xtask/src/"));
    (verbs, files.map(|file| file.text).collect())
}

/// Every `cargo xtask …` of a text: line, verb, flags.
fn commands(text: &str) -> Vec<(usize, String, Vec<String>)> {
    let mut found = Vec::new();
    for (index, line) in text.lines().enumerate() {
        for rest in line.split("cargo xtask").skip(1) {
            let words: Vec<&str> = rest
                .split(['`', '#', '"', '\'', ')', '&', '|', ';', ','])
                .next()
                .unwrap_or("")
                .split_whitespace()
                .collect();
            let Some(verb) =
                words.first().filter(|word| word.chars().all(|letter| letter.is_ascii_lowercase()))
            else {
                continue;
            };
            let flags = words.iter().filter_map(|word| word.strip_prefix("--")).map(str::to_owned).collect();
            found.push((index + 1, (*verb).to_owned(), flags));
        }
    }
    found
}

#[test]
fn commands_are_found_in_running_text_and_in_blocks() {
    let text =
        "Type `cargo xtask demo`, or:\n    cargo xtask test --only tidy   # quick\n`cargo xtask` lists";
    let expected = [(1, "demo".to_owned(), vec![]), (2, "test".to_owned(), vec!["only".to_owned()])];
    assert_eq!(commands(text), expected);
}

#[test]
fn every_command_in_the_documents_exists() {
    let (verbs, source) = door();
    let mut findings = Vec::new();
    for file in tree::files().iter().filter(|file| file.path.ends_with(".md")) {
        for (line, verb, flags) in commands(&file.text) {
            if !verbs.contains(&verb) {
                findings.push(format!(
                    "{}:{line}: no verb `{verb}`; there are {}",
                    file.path,
                    verbs.join(", ")
                ));
            }
            for flag in flags.iter().filter(|flag| !source.contains(&format!("    {flag}: "))) {
                findings.push(format!("{}:{line}: `cargo xtask {verb}` has no `--{flag}`", file.path));
            }
        }
    }
    report(findings, "Correct the document, or give xtask the verb.");
}

#[test]
fn the_readme_shows_the_two_commands_on_its_first_screen() {
    let text = tree::read("README.md");
    let screen: Vec<&str> = text.lines().take(40).collect();
    for command in ["cargo xtask demo", "cargo xtask test"] {
        assert!(screen.iter().any(|line| line.contains(command)), "README.md: no `{command}` in 40 lines");
    }
}

#[test]
fn the_changelog_knows_the_present_version() {
    let manifest = tree::read("Cargo.toml");
    let version = manifest
        .lines()
        .find_map(|line| line.strip_prefix("version = "))
        .map(|value| value.trim_matches('"'))
        .expect("a version of the workspace");
    let heading = format!("## [{version}]");
    let known = tree::read("CHANGELOG.md").lines().any(|line| line.starts_with(&heading));
    assert!(known, "CHANGELOG.md has no heading `{heading}`");
}

#[test]
fn every_crate_root_says_what_it_is() {
    let mut findings = Vec::new();
    for file in tree::files() {
        let root =
            ["/src/lib.rs", "/src/main.rs", "/tests/it/main.rs"].iter().any(|end| file.path.ends_with(end));
        if !root {
            continue;
        }
        let first = file.text.lines().find_map(|line| line.strip_prefix("//! ")).unwrap_or("");
        if first.len() < 20 || first.contains("nder construction") {
            findings.push(format!("{}: its first line of docs is `{first}`", file.path));
        }
    }
    report(findings, "Say in a sentence what the crate is for.");
}

#[test]
fn ci_does_what_a_contributor_does() {
    let script = tree::read(".ci/run");
    assert!(script.contains("cargo xtask test"), ".ci/run does not run `cargo xtask test`");
}

#[test]
fn the_texts_of_both_licences_are_there() {
    for (file, words) in
        [("LICENSE-MIT", "Permission is hereby granted"), ("LICENSE-APACHE", "Version 2.0, January 2004")]
    {
        assert!(tree::read(file).contains(words), "{file} is not what its name says");
    }
}

#[test]
fn the_oracles_are_pinned() {
    let loose = |line: &&str| !line.trim().is_empty() && !line.starts_with('#') && !line.contains("==");
    let text = tree::read("tests/python/requirements.txt");
    report(text.lines().filter(loose).map(str::to_owned).collect(), "Pin it with `==`.");
}
