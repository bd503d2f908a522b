//! Faults in the rows of a machine's declaration: cargo-mutants does not reach them, for they are a macro's text.
//!
//! Each changed row is built and tested in a copy of the workspace: the machine's own tests, its scenarios among
//! them. A change that they do not notice may still be noticed by the documents, whose tables are a second entry of each
//! row. That is enough for what a row calls itself; what a row does is to be noticed by a test, or has its reason.

use std::{fs, time::Duration};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use super::rows::{self, Change, Kind};
use crate::{
    command::{Outcome, Task, ask},
    documents,
    programs::Programs,
    progress::say,
    tally::Tally,
    toolchain::Toolchain,
    workspace::Workspace,
};

/// A machine's tests take half a minute; an hour means that they hang, even on a computer with other work to do.
const LIMIT: Duration = Duration::from_secs(3_600);
/// What the drawing of the order begins with: a part of a campaign is a fair sample of the whole.
const SEED: u64 = 1;

/// What became of the changes so far, kept beside the machine.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Ledger {
    /// Hash of the rows and of what tests them.
    hash: String,
    /// Changes that can be made.
    possible: usize,
    /// How many of them were tried, in the order of the lot.
    tried: usize,
    /// The build refused them.
    refused: usize,
    /// A test failed.
    caught: usize,
    /// Only the documents noticed, which is enough for a name.
    documented: usize,
    /// Nothing noticed, or only the documents although the machine could do something else.
    #[serde(default, rename = "survivor", skip_serializing_if = "Vec::is_empty")]
    survivors: Vec<Survivor>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Survivor {
    row: String,
    change: String,
    /// Whether the documents would have noticed.
    documented: bool,
    reason: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    Refused,
    Caught,
    Documented,
    Unnoticed,
}

/// Tries so many changes more, or all that are left, and holds the ledger against the reasons.
pub fn verb(
    workspace: &Workspace,
    own: &Toolchain,
    machine: &str,
    number: Option<usize>,
    tally: &mut Tally,
) -> Result<(), String> {
    let path = workspace.root.join("examples").join(machine).join("mutants.toml");
    let mut ledger = read(&path)?;
    let changes = drawn(workspace, machine)?;
    let hash = hash(workspace, machine)?;
    if ledger.hash != hash || ledger.possible != changes.len() {
        // Reasons of survivors are kept, for they may survive again.
        let survivors = std::mem::take(&mut ledger.survivors);
        ledger = Ledger { hash, possible: changes.len(), survivors, ..Ledger::default() };
    }
    let last = number.map_or(changes.len(), |number| changes.len().min(ledger.tried + number));
    if ledger.tried < last {
        let bench = Bench::new(workspace, own, machine)?;
        bench.check_without_change()?;
        for (place, (file, change)) in changes.iter().enumerate().take(last).skip(ledger.tried) {
            let end = bench.attempt(file, change)?;
            say(format_args!("  [{}/{last}] {}: {}: {}", place + 1, change.row, change.what, told(end)));
            ledger.note(change, end);
            write(&path, &ledger)?;
        }
    }
    judge(&ledger, tally);
    Ok(())
}

/// All changes of a machine in the order of the lot.
fn drawn(workspace: &Workspace, machine: &str) -> Result<Vec<(String, Change)>, String> {
    let folder = format!("examples/{machine}/src/declaration");
    let mut all = Vec::new();
    for path in super::sources::entries(&workspace.root.join(&folder))? {
        let text = fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?;
        all.extend(rows::changes(&text).into_iter().map(|change| (workspace.shown(&path), change)));
    }
    if all.is_empty() {
        return Err(format!("{folder} has no rows"));
    }
    let lot = |(file, change): &(String, Change)| -> [u8; 32] {
        Sha256::digest(format!("{SEED} {file} {} {}", change.row, change.what)).into()
    };
    all.sort_by_key(lot);
    Ok(all)
}

fn hash(workspace: &Workspace, machine: &str) -> Result<String, String> {
    let mut hasher = Sha256::new();
    for path in tracked(workspace)?.iter().filter(|path| path.starts_with(&format!("examples/{machine}/"))) {
        if path.ends_with(".rs") || path.ends_with(".scenario") {
            let bytes = fs::read(workspace.root.join(path)).map_err(|error| format!("{path}: {error}"))?;
            hasher.update(path.as_bytes());
            hasher.update(bytes);
        }
    }
    let digits: String = hasher.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
    Ok(digits[..16].to_owned())
}

fn tracked(workspace: &Workspace) -> Result<Vec<String>, String> {
    let root = workspace.root.display().to_string();
    let words = ["-C", &root, "ls-files", "--cached", "--others", "--exclude-standard"];
    let listed = ask("git", words).ok_or("git does not list the files of this folder: is it a clone?")?;
    let mut paths: Vec<String> = listed.lines().map(str::to_owned).collect();
    paths.retain(|path| workspace.root.join(path).is_file());
    paths.sort_unstable();
    Ok(paths)
}

/// A copy of the workspace to make changes in.
struct Bench<'a> {
    copy: Workspace,
    own: &'a Toolchain,
    machine: &'a str,
    original: &'a Workspace,
}

impl<'a> Bench<'a> {
    fn new(original: &'a Workspace, own: &'a Toolchain, machine: &'a str) -> Result<Self, String> {
        let root = original.target.join("mutants").join("declarations");
        let copy = Workspace { target: root.join("target"), root };
        for path in tracked(original)? {
            let bytes = fs::read(original.root.join(&path)).map_err(|error| format!("{path}: {error}"))?;
            place(&copy, &path, &bytes)?;
        }
        Ok(Self { copy, own, machine, original })
    }

    fn cargo(&self, name: &str, words: &[&str]) -> Outcome {
        self.own
            .beside_cargo(Task::new(&self.copy, name, "nice"))
            .env("CARGO_TARGET_DIR", &self.copy.target)
            .env("CARGO_INCREMENTAL", "1")
            .env("PROPTEST_RNG_SEED", "1")
            .env("PROPTEST_DISABLE_FAILURE_PERSISTENCE", "1")
            .env("RUST_BACKTRACE", "0")
            .args(["-n", "19", "cargo"])
            .args(words)
            .limit(LIMIT)
            .run_quietly(&self.copy)
    }

    fn test(&self) -> bool {
        self.cargo("declaration tests", &["test", "--quiet", "--package", self.machine]).success
    }

    /// A test that fails anyway would seem to notice every change.
    fn check_without_change(&self) -> Result<(), String> {
        if !self.test() {
            return Err(format!("the tests of {} fail without any change", self.machine));
        }
        if self.documents_agree()? { Ok(()) } else { Err("run `cargo xtask docs` first".to_owned()) }
    }

    fn attempt(&self, file: &str, change: &Change) -> Result<End, String> {
        place(&self.copy, file, change.text.as_bytes())?;
        let end = self.end();
        let original = fs::read(self.original.root.join(file)).map_err(|error| format!("{file}: {error}"))?;
        place(&self.copy, file, &original)?;
        end
    }

    fn end(&self) -> Result<End, String> {
        let words = ["test", "--quiet", "--package", self.machine, "--no-run"];
        if !self.cargo("declaration build", &words).success {
            return Ok(End::Refused);
        }
        if !self.test() {
            return Ok(End::Caught);
        }
        Ok(if self.documents_agree()? { End::Unnoticed } else { End::Documented })
    }

    fn documents_agree(&self) -> Result<bool, String> {
        let folder = self.copy.root.join("examples").join(self.machine);
        Ok(documents::stale_parts_below(&self.copy, &Programs::ByCargo(self.own), &folder)?.is_empty())
    }
}

/// Writes a file of the copy, unless it is so already: its time stamp tells Cargo whether to build.
fn place(copy: &Workspace, path: &str, bytes: &[u8]) -> Result<(), String> {
    let path = copy.root.join(path);
    if fs::read(&path).is_ok_and(|present| present == bytes) {
        return Ok(());
    }
    let made = path.parent().map_or(Ok(()), fs::create_dir_all).and_then(|()| fs::write(&path, bytes));
    made.map_err(|error| format!("{}: {error}", path.display()))
}

impl Ledger {
    fn note(&mut self, change: &Change, end: End) {
        self.tried += 1;
        let same = |one: &Survivor| one.row == change.row && one.change == change.what;
        let reason = self.survivors.iter().find(|one| same(one)).map(|one| one.reason.clone());
        self.survivors.retain(|one| !same(one));
        match (end, change.kind) {
            (End::Refused, _) => self.refused += 1,
            (End::Caught, _) => self.caught += 1,
            (End::Documented, Kind::Name) => self.documented += 1,
            (End::Documented | End::Unnoticed, _) => self.survivors.push(Survivor {
                row: change.row.clone(),
                change: change.what.clone(),
                documented: end == End::Documented,
                reason: reason.unwrap_or_default(),
            }),
        }
        self.survivors.sort_by(|one, other| (&one.row, &one.change).cmp(&(&other.row, &other.change)));
    }
}

fn told(end: End) -> &'static str {
    match end {
        End::Refused => "refused by the build",
        End::Caught => "noticed by a test",
        End::Documented => "noticed by the documents only",
        End::Unnoticed => "NOT noticed",
    }
}

fn judge(ledger: &Ledger, tally: &mut Tally) {
    say(format_args!(
        "  {} of {} changes tried: {} refused by the build, {} noticed by a test, {} names noticed by the documents, {} survived",
        ledger.tried,
        ledger.possible,
        ledger.refused,
        ledger.caught,
        ledger.documented,
        ledger.survivors.len()
    ));
    let what = "every change of a row is noticed or has its reason";
    let open: Vec<&Survivor> =
        ledger.survivors.iter().filter(|survivor| survivor.reason.trim().is_empty()).collect();
    for survivor in &open {
        let by = if survivor.documented { " (only the documents would tell)" } else { "" };
        say(format_args!("      {}: {}{by}", survivor.row, survivor.change));
    }
    if open.is_empty() { tally.pass(what) } else { tally.fail(what, format!("{} are not", open.len())) }
}

fn read(path: &std::path::Path) -> Result<Ledger, String> {
    if !path.is_file() {
        return Ok(Ledger::default());
    }
    let text = fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
    toml::from_str(&text).map_err(|error| format!("{}: {error}", path.display()))
}

const HEAD: &str = "\
# Faults made in the rows of this machine's declaration, and what became of them. `cargo xtask mutants --declarations`
# writes it; of a survivor, only `reason` is written by hand. The order of the changes is drawn, so the part that was
# tried is a fair sample of the whole.
";

fn write(path: &std::path::Path, ledger: &Ledger) -> Result<(), String> {
    let text = toml::to_string_pretty(ledger).map_err(|error| format!("{}: {error}", path.display()))?;
    fs::write(path, format!("{HEAD}\n{text}")).map_err(|error| format!("{}: {error}", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(kind: Kind) -> Change {
        Change {
            line: 0,
            row: "seat".to_owned(),
            what: "= false → = true".to_owned(),
            kind,
            text: String::new(),
        }
    }

    #[test]
    fn documents_are_enough_for_a_name_and_not_for_what_a_row_does() {
        let mut ledger = Ledger::default();
        ledger.note(&change(Kind::Name), End::Documented);
        assert_eq!((ledger.documented, ledger.survivors.len()), (1, 0));
        ledger.note(&change(Kind::Behaviour), End::Documented);
        assert_eq!((ledger.tried, ledger.survivors.len()), (2, 1));
        let mut tally = Tally::default();
        judge(&ledger, &mut tally);
        assert_eq!(tally.failed.len(), 1);
    }

    #[test]
    fn a_reason_stays_when_the_same_change_survives_again_and_goes_when_it_is_noticed() {
        let mut ledger = Ledger::default();
        ledger.note(&change(Kind::Behaviour), End::Unnoticed);
        ledger.survivors[0].reason = "because".to_owned();
        ledger.note(&change(Kind::Behaviour), End::Unnoticed);
        assert_eq!(ledger.survivors[0].reason, "because");
        ledger.note(&change(Kind::Behaviour), End::Caught);
        assert!(ledger.survivors.is_empty());
    }

    #[test]
    fn the_loader_has_hundreds_of_changes_and_every_one_differs_from_the_file() {
        let workspace = Workspace::find().unwrap();
        let changes = drawn(&workspace, "loader").unwrap();
        assert!(changes.len() > 1_000, "only {}", changes.len());
        for (file, change) in changes {
            let text = fs::read_to_string(workspace.root.join(file)).unwrap();
            assert_ne!(text, change.text, "{} {}", change.row, change.what);
        }
    }
}
