//! Runs cargo-mutants on one file of a copy and reads what it found.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
};

use serde::Deserialize;

use super::{
    ledger::{Entry, Survivor},
    scratch::Scratch,
    sources::Sources,
};
use crate::{
    command::{Task, on_path},
    setup::TOOLS,
    toolchain::Toolchain,
    workspace::Workspace,
};

/// The program, as Cargo calls it.
pub const PROGRAM: &str = "cargo-mutants";
/// The version whose outcomes are in the ledger: another may plant other mutants.
pub const VERSION: &str = "27.1.0";
/// Seconds of processor time that a process may take; tests and builds take a third. A loop without end is found by this
/// and not by the clock: on a busy computer a sound test would seem to hang.
const PROCESSOR_SECONDS: &str = "30";
/// What a process says that took more.
const ENDLESS: &str = "SIGXCPU";
/// Seconds by the clock after which even a busy computer should be through.
const PATIENCE: &str = "1800";

/// How the mutants are built and tested: reproducibly, and with no time spent on what nobody will read.
const SETTINGS: &[(&str, &str)] = &[
    ("CARGO_PROFILE_DEV_DEBUG", "0"),
    ("CARGO_PROFILE_DEV_OPT_LEVEL", "1"),
    ("CARGO_INCREMENTAL", "1"),
    ("PROPTEST_RNG_SEED", "1"),
    ("PROPTEST_MAX_SHRINK_ITERS", "0"),
    ("PROPTEST_DISABLE_FAILURE_PERSISTENCE", "1"),
    ("RUST_BACKTRACE", "0"),
];

/// How one mutant ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// A test failed.
    Caught,
    /// The tests did not end.
    Timeout,
    /// It does not compile.
    Unviable,
    /// Every test passed.
    Survived,
}

/// One mutant of a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mutant {
    /// As the tool names it: file, line, column, change.
    pub name: String,
    /// How it ended.
    pub end: End,
}

#[derive(Deserialize)]
struct Outcomes {
    outcomes: Vec<Outcome>,
}

#[derive(Deserialize)]
struct Outcome {
    scenario: Scenario,
    summary: String,
    #[serde(default)]
    log_path: String,
}

#[derive(Deserialize)]
enum Scenario {
    Baseline,
    Mutant(Named),
}

#[derive(Deserialize)]
struct Named {
    name: String,
}

/// Where the tool is.
pub fn program(workspace: &Workspace) -> Option<PathBuf> {
    let ours = workspace.target.join(TOOLS).join("bin").join(PROGRAM);
    if ours.is_file() { Some(ours) } else { on_path(PROGRAM) }
}

/// The file that stands behind a feature.
const SNAPSHOT: &str = "src/snapshot.rs";

/// The names of all mutants of the crate.
pub fn list(scratch: &Scratch, own: &Toolchain, program: &Path) -> Result<Vec<String>, String> {
    let task = task(scratch, own, program, "list of mutants").args(["--list", "--package", "trunnion"]);
    let outcome = task.run_quietly(&scratch.workspace);
    if !outcome.success {
        return Err(format!("cargo-mutants cannot list mutants: {}", outcome.text));
    }
    Ok(outcome.out.lines().filter(|line| line.contains(".rs:")).map(str::to_owned).collect())
}

/// Tries mutants of some files of a copy: all, or those named. `Err` holds the reason when the tests fail
/// without any mutant.
pub fn run(
    scratch: &Scratch,
    own: &Toolchain,
    program: &Path,
    paths: &[&str],
    named: &[&str],
) -> Result<Vec<Mutant>, String> {
    let output = scratch.workspace.root.join("output");
    let results = output.join("mutants.out/outcomes.json");
    let _ = fs::remove_file(&results);
    let first = paths.first().copied().unwrap_or_default();
    let title = format!("mutants of {}", first.rsplit("src/").next().unwrap_or(first));
    let mut task = task(scratch, own, program, &title)
        .args(["--in-place", "--package", "trunnion", "--cargo-arg=--lib", "--colors", "never"])
        .args(["--minimum-test-timeout", PATIENCE, "--build-timeout", PATIENCE, "--output"])
        .args([&output]);
    for path in paths {
        task = task.args(["--file", path]);
    }
    if first.ends_with(SNAPSHOT) {
        // Without its feature it is not compiled, and every mutant of it survives.
        task = task.args(["--features", "snapshot"]);
    }
    for name in named {
        task = task.args(["--re".to_owned(), format!("^{}$", escaped(name))]);
    }
    // Its exit code is not 0 when a mutant survives: the outcomes say what happened.
    let outcome = task.run_quietly(&scratch.workspace);
    if outcome.text.contains("No mutants found") {
        return Ok(Vec::new());
    }
    let text = fs::read_to_string(&results)
        .map_err(|error| format!("{title}: no outcomes ({error})\n{}", outcome.text))?;
    let endless = |log: &str| {
        fs::read_to_string(output.join("mutants.out").join(log)).is_ok_and(|text| text.contains(ENDLESS))
    };
    read(&text, endless).map_err(|why| format!("{title}: {why}\n{}", outcome.text))
}

fn task(scratch: &Scratch, own: &Toolchain, program: &Path, title: &str) -> Task {
    // Idle time only: a campaign runs beside somebody's work.
    let task = own.beside_cargo(Task::new(&scratch.workspace, title, "sh"));
    let limited = format!("ulimit -t {PROCESSOR_SECONDS} && exec nice -n 19 \"$@\"");
    let task = task.args(["-c", &limited, "sh"]).args([program]).args(["mutants"]);
    let settings = SETTINGS.iter().fold(task, |task, (key, value)| task.env(key, value));
    settings.env("CARGO_TARGET_DIR", &scratch.workspace.target)
}

fn read(text: &str, endless: impl Fn(&str) -> bool) -> Result<Vec<Mutant>, String> {
    let parsed: Outcomes = serde_json::from_str(text).map_err(|error| format!("outcomes: {error}"))?;
    let mut mutants = Vec::new();
    for outcome in parsed.outcomes {
        let Scenario::Mutant(Named { name }) = outcome.scenario else {
            if outcome.summary != "Success" {
                return Err("the tests fail without any mutant".to_owned());
            }
            continue;
        };
        let end = match outcome.summary.as_str() {
            "CaughtMutant" | "Unviable" if endless(&outcome.log_path) => End::Timeout,
            "CaughtMutant" => End::Caught,
            "MissedMutant" => End::Survived,
            "Timeout" => End::Timeout,
            "Unviable" => End::Unviable,
            other => return Err(format!("{name}: `{other}` is no end of a mutant that we know")),
        };
        mutants.push(Mutant { name, end });
    }
    Ok(mutants)
}

/// The mutants of one file as its entry in the ledger.
pub fn entry(sources: &Sources, path: &str, mutants: &[Mutant]) -> Entry {
    let count = |end| mutants.iter().filter(|mutant| mutant.end == end).count();
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut survivors = Vec::new();
    for mutant in mutants {
        let (line, change) = place_and_change(&mutant.name);
        let times = seen.entry(change).or_default();
        *times += 1;
        if mutant.end == End::Survived {
            let mutant = if *times > 1 { format!("{change} #{times}") } else { change.to_owned() };
            let line = sources.line(path, line).to_owned();
            survivors.push(Survivor { mutant, line, reason: String::new() });
        }
    }
    Entry {
        path: path.to_owned(),
        hash: sources.hash(path),
        mutants: mutants.len(),
        caught: count(End::Caught),
        timeout: count(End::Timeout),
        unviable: count(End::Unviable),
        survivors,
    }
}

/// `src/a.rs:12:5: replace + with -` is line 12 and the words behind the place.
pub fn place_and_change(name: &str) -> (usize, &str) {
    let mut parts = name.splitn(4, ':');
    let _path = parts.next();
    let line = parts.next().and_then(|number| number.parse().ok()).unwrap_or(0);
    (line, parts.nth(1).unwrap_or(name).trim())
}

/// A name as a regular expression that matches it only.
fn escaped(name: &str) -> String {
    let mut text = String::new();
    for letter in name.chars() {
        if "\\.+*?()|[]{}^$#&-~<>".contains(letter) {
            text.push('\\');
        }
        text.push(letter);
    }
    // A backslash before `<` and `>` would mean a word's edge.
    text.replace("\\<", "<").replace("\\>", ">")
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"{"outcomes": [
        {"scenario": "Baseline", "summary": "Success", "log_path": "x"},
        {"scenario": {"Mutant": {"name": "a.rs:1:1: replace + with -", "file": "a.rs"}}, "summary": "CaughtMutant"},
        {"scenario": {"Mutant": {"name": "a.rs:2:1: replace + with -"}}, "summary": "MissedMutant"},
        {"scenario": {"Mutant": {"name": "a.rs:3:1: replace a -> bool with true"}}, "summary": "Timeout"},
        {"scenario": {"Mutant": {"name": "a.rs:4:1: replace a -> B with Default::default()"}}, "summary": "Unviable"}
    ]}"#;

    #[test]
    fn the_ends_of_all_mutants_are_counted_and_a_survivor_is_told_from_its_like() {
        let workspace = Workspace::find().unwrap();
        let sources = Sources::read(&workspace).unwrap();
        let entry = entry(&sources, "crates/trunnion/src/lib.rs", &read(TEXT, |_| false).unwrap());
        assert_eq!((entry.mutants, entry.caught, entry.timeout, entry.unviable), (4, 1, 1, 1));
        assert_eq!(entry.survivors.len(), 1);
        assert_eq!(entry.survivors[0].mutant, "replace + with - #2");
    }

    #[test]
    fn a_test_that_took_all_its_processor_time_is_one_that_does_not_end() {
        let mutants = read(TEXT, |log| log.is_empty()).unwrap();
        let endless = mutants.iter().filter(|mutant| mutant.end == End::Timeout).count();
        assert_eq!(endless, 3, "{mutants:?}");
    }

    #[test]
    fn tests_that_fail_without_any_mutant_are_no_result() {
        let text = TEXT.replace("\"Success\"", "\"Failure\"");
        assert!(read(&text, |_| false).unwrap_err().contains("without any mutant"));
        assert!(read("{", |_| false).is_err());
    }

    #[test]
    fn a_name_is_escaped_into_a_pattern_of_itself() {
        assert_eq!(escaped("a.rs:1:2: replace + with *"), r"a\.rs:1:2: replace \+ with \*");
        assert_eq!(escaped("f -> Option<u8>"), r"f \-> Option<u8>");
    }
}
