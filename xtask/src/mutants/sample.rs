//! A few mutants drawn from all files: cheap enough for every run of the suite, and a different handful when the
//! sources change.

use std::path::Path;

use sha2::{Digest, Sha256};

use super::{
    ledger::Ledger,
    scratch::Scratch,
    sources::{Kept, Sources},
    tool::{self, End, Mutant},
};
use crate::{progress::say, tally::Tally, toolchain::Toolchain, workspace::Workspace};

/// What the drawing begins with, unless told otherwise.
pub const SEED: u64 = 1;
/// How many the suite tries.
pub const OF_SUITE: usize = 10;
/// The copy that samples work on, beside those of campaigns.
const COPY: usize = 99;

/// Draws mutants, tries each with all tests of the crate, and fails for a survivor that the ledger does not explain.
pub fn run(
    workspace: &Workspace,
    own: &Toolchain,
    program: &Path,
    number: usize,
    seed: u64,
    tally: &mut Tally,
) {
    let what = format!("{number} mutants, drawn with seed {seed}, are noticed");
    match drawn(workspace, own, program, number, seed) {
        Ok(unexplained) if unexplained.is_empty() => tally.pass(&what),
        Ok(unexplained) => tally.fail(&what, format!("not noticed: {}", unexplained.join("; "))),
        Err(why) => tally.fail(&what, why),
    }
}

fn drawn(
    workspace: &Workspace,
    own: &Toolchain,
    program: &Path,
    number: usize,
    seed: u64,
) -> Result<Vec<String>, String> {
    let sources = Sources::read(workspace)?;
    let ledger = Ledger::read(workspace)?;
    let scratch = Scratch::new(workspace, COPY)?;
    scratch.fill(&sources, Kept::All)?;
    let mut names = tool::list(&scratch, own, program)?;
    if names.len() < number {
        return Err(format!("the crate has {} mutants only", names.len()));
    }
    names.sort_by_key(|name| lot(seed, name));
    names.truncate(number);
    for name in &names {
        say(format_args!("    {name}"));
    }
    let mut paths: Vec<&str> = names.iter().map(|name| path_of(name)).collect();
    paths.sort_unstable();
    paths.dedup();
    let chosen: Vec<&str> = names.iter().map(String::as_str).collect();
    let mutants = tool::run(&scratch, own, program, &paths, &chosen)?;
    if mutants.len() != names.len() {
        return Err(format!("{} of {} drawn mutants were tried", mutants.len(), names.len()));
    }
    Ok(survivors(&sources, &ledger, &mutants))
}

/// The survivors for which the ledger has no reason.
fn survivors(sources: &Sources, ledger: &Ledger, mutants: &[Mutant]) -> Vec<String> {
    let unexplained = |mutant: &&Mutant| {
        let (line, change) = tool::place_and_change(&mutant.name);
        let path = path_of(&mutant.name);
        let line = sources.line(path, line);
        let explained = ledger.entry(path).is_some_and(|entry| {
            entry.survivors.iter().any(|one| {
                let same = one.mutant == change || one.mutant.starts_with(&format!("{change} #"));
                same && one.line == line && !one.reason.trim().is_empty()
            })
        });
        mutant.end == End::Survived && !explained
    };
    mutants.iter().filter(unexplained).map(|mutant| mutant.name.clone()).collect()
}

fn path_of(name: &str) -> &str {
    name.split(':').next().unwrap_or(name)
}

/// The same seed draws the same mutants on every computer.
fn lot(seed: u64, name: &str) -> [u8; 32] {
    Sha256::digest(format!("{seed} {name}")).into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mutants::ledger::{Entry, Survivor};

    #[test]
    fn a_seed_draws_the_same_lot_and_another_seed_another() {
        assert_eq!(lot(1, "a"), lot(1, "a"));
        assert_ne!(lot(1, "a"), lot(2, "a"));
        assert_ne!(lot(1, "a"), lot(1, "b"));
    }

    #[test]
    fn a_survivor_counts_unless_the_ledger_gives_the_reason_for_that_line() {
        let sources = Sources::read(&Workspace::find().unwrap()).unwrap();
        let path = "crates/trunnion/src/lib.rs";
        let name = format!("{path}:1:1: replace + with -");
        let mutants = [Mutant { name: name.clone(), end: End::Survived }];
        let mut ledger = Ledger::default();
        assert_eq!(survivors(&sources, &ledger, &mutants), [name]);
        let line = sources.line(path, 1).to_owned();
        let known = Survivor { mutant: "replace + with - #2".to_owned(), line, reason: "equal".to_owned() };
        ledger.put(Entry { path: path.to_owned(), survivors: vec![known], ..Entry::default() });
        assert!(survivors(&sources, &ledger, &mutants).is_empty());
    }
}
