//! What we lean on: few, permissive, each with its reason written down.

use std::{env, process::Command};

use serde_json::Value;

use super::{report, tree};

/// Licences that ask for nothing but their notice, as SPDX names them.
const PERMISSIVE: &[&str] = &[
    "MIT",
    "MIT-0",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "0BSD",
    "ISC",
    "Unicode-3.0",
    "Unicode-DFS-2016",
    "Zlib",
    "Unlicense",
    "CC0-1.0",
    "BSL-1.0",
];

/// Packages under a licence that asks for more, with the reason for bearing it.
///
/// MPL-2.0 asks that changes to these very files be published; we change none, and both are part of the desk
/// program only: the decoder of the firmware's log leans on them. Nothing of them is in an image.
const BORNE: &[(&str, &str)] = &[("alterable_logger", "MPL-2.0"), ("colored", "MPL-2.0")];

/// What Cargo knows about all packages that the host or the controller needs.
fn packages() -> Vec<Value> {
    let host = answer(Command::new("rustc").args(["--print", "host-tuple"]));
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let text = answer(
        Command::new(cargo)
            .args(["metadata", "--format-version", "1", "--locked"])
            .args(["--filter-platform", host.trim(), "--filter-platform", "thumbv7em-none-eabihf"])
            .current_dir(tree::root()),
    );
    let all: Value = serde_json::from_str(&text).expect("cargo answers in JSON");
    all["packages"].as_array().expect("a list of packages").clone()
}

fn answer(command: &mut Command) -> String {
    let output = command.output().expect("the toolchain's programs are there");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("text")
}

/// Whether an SPDX expression can be met with permissive licences only. A malformed one cannot.
fn is_permissive(expression: &str) -> bool {
    let spaced = expression.replace('/', " OR ").replace('(', " ( ").replace(')', " ) ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut rest = words.as_slice();
    either(&mut rest) == Some(true) && rest.is_empty()
}

fn either(words: &mut &[&str]) -> Option<bool> {
    let mut met = both(words)?;
    while let ["OR", rest @ ..] = *words {
        *words = rest;
        met |= both(words)?;
    }
    Some(met)
}

fn both(words: &mut &[&str]) -> Option<bool> {
    let mut met = licence(words)?;
    while let ["AND", rest @ ..] = *words {
        *words = rest;
        met &= licence(words)?;
    }
    Some(met)
}

fn licence(words: &mut &[&str]) -> Option<bool> {
    let (met, rest) = match *words {
        ["(", rest @ ..] => {
            *words = rest;
            let met = either(words)?;
            (met, words.strip_prefix(&[")"])?)
        }
        [name, "WITH", exception, rest @ ..] => {
            (PERMISSIVE.contains(&format!("{name} WITH {exception}").as_str()), rest)
        }
        [name, rest @ ..] => (PERMISSIVE.contains(name), rest),
        [] => return None,
    };
    *words = rest;
    Some(met)
}

#[test]
fn an_expression_is_permissive_when_one_choice_is() {
    for good in
        ["MIT OR Apache-2.0", "MIT/Apache-2.0", "GPL-3.0 OR MIT", "(MIT OR Apache-2.0) AND Unicode-3.0"]
    {
        assert!(is_permissive(good), "{good}");
    }
    for bad in ["GPL-3.0", "MIT AND GPL-3.0", "(MIT OR GPL-2.0) AND MPL-2.0", "", "MIT OR", "(MIT"] {
        assert!(!is_permissive(bad), "{bad}");
    }
    assert!(is_permissive("Apache-2.0 WITH LLVM-exception OR MPL-2.0"));
}

#[test]
fn every_package_is_under_a_permissive_licence() {
    let packages = packages();
    assert!(packages.len() > 50, "only {} packages", packages.len());
    let mut borne = 0;
    let mut findings = Vec::new();
    for package in &packages {
        let [name, licence] = ["name", "license"].map(|key| package[key].as_str().unwrap_or(""));
        if BORNE.contains(&(name, licence)) {
            borne += 1;
        } else if !is_permissive(licence) {
            findings.push(format!("{name} {}: `{licence}`", package["version"]));
        }
    }
    report(findings, "Choose another dependency.");
    assert_eq!(borne, BORNE.len(), "a row of BORNE is stale: remove it");
}

#[test]
fn every_package_of_ours_has_a_description_and_both_licences() {
    let packages = packages();
    let ours: Vec<&Value> = packages.iter().filter(|package| package["source"].is_null()).collect();
    assert!(ours.len() >= 8, "only {} packages of ours", ours.len());
    for package in ours {
        let name = &package["name"];
        assert!(
            package["description"].as_str().is_some_and(|text| text.len() > 20),
            "{name}: no description"
        );
        assert_eq!(package["license"], "MIT OR Apache-2.0", "{name}");
        assert_eq!(package["publish"], Value::Array(Vec::new()), "{name}: nothing is published yet");
    }
}

#[test]
fn every_dependency_has_its_reason_in_the_developers_guide() {
    let guide = tree::read("DEVELOPERS.md");
    let manifest = tree::read("Cargo.toml");
    let table = manifest.split("[workspace.dependencies]").nth(1).and_then(|rest| rest.split("\n[").next());
    let names: Vec<&str> = table
        .expect("a table of dependencies")
        .lines()
        .filter_map(|line| line.split_once(" = "))
        .filter(|(_, value)| !value.contains("path = "))
        .map(|(name, _)| name)
        .collect();
    assert!(names.len() > 10, "only {names:?}");
    let unexplained = names.iter().filter(|name| !guide.contains(&format!("| `{name}`")));
    report(
        unexplained.map(|name| format!("DEVELOPERS.md: no row for `{name}`")).collect(),
        "Say why we need it.",
    );
}
