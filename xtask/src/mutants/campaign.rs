//! Tries the mutants of many files, a copy of the crate for each core, and keeps every file's outcome at once.

use std::{
    path::PathBuf,
    sync::{Mutex, MutexGuard, PoisonError},
    thread,
};

use super::{
    ledger::{Entry, Ledger},
    scratch::Scratch,
    sources::{Kept, Sources},
    tool::{self, End, Mutant},
};
use crate::{progress::say, toolchain::Toolchain, workspace::Workspace};

/// What a campaign needs.
pub struct Campaign<'a> {
    /// Where the project is.
    pub workspace: &'a Workspace,
    /// What builds it.
    pub own: &'a Toolchain,
    /// cargo-mutants.
    pub program: PathBuf,
    /// The crate as it is now.
    pub sources: &'a Sources,
    /// What the tests of the room do not notice is a survivor.
    pub within_room: bool,
}

struct Shared {
    left: Vec<String>,
    done: usize,
    failures: Vec<String>,
}

impl Campaign<'_> {
    /// Runs the files on so many copies. The ledger is written after every file, so that an interrupted
    /// campaign goes on where it was; and read before that, so that reasons can be written meanwhile. Gives what
    /// could not be run.
    pub fn run(&self, mut paths: Vec<String>, jobs: usize) -> Vec<String> {
        paths.reverse();
        let total = paths.len();
        let jobs = jobs.min(total);
        let shared = Mutex::new(Shared { left: paths, done: 0, failures: Vec::new() });
        thread::scope(|scope| {
            for number in 0..jobs {
                let shared = &shared;
                scope.spawn(move || self.work(number, shared, total));
            }
        });
        shared.into_inner().unwrap_or_else(PoisonError::into_inner).failures
    }

    fn work(&self, number: usize, shared: &Mutex<Shared>, total: usize) {
        let scratch = match Scratch::new(self.workspace, number) {
            Ok(scratch) => scratch,
            Err(why) => return lock(shared).failures.push(why),
        };
        loop {
            let Some(path) = lock(shared).left.pop() else { break };
            let outcome = self.file(&scratch, &path);
            let mut held = lock(shared);
            held.done += 1;
            match outcome {
                Ok(entry) => {
                    say(format_args!("  [{}/{total}] {}", held.done, told(&entry)));
                    if let Err(why) = self.keep(entry) {
                        held.failures.push(why);
                    }
                }
                Err(why) => {
                    say(format_args!("  [{}/{total}] {path} could not be run", held.done));
                    held.failures.push(format!("{path}: {why}"));
                }
            }
        }
    }

    fn keep(&self, entry: Entry) -> Result<(), String> {
        let mut ledger = Ledger::read(self.workspace)?;
        ledger.put(entry);
        ledger.write(self.workspace)
    }

    /// One file: first with its own tests, then the survivors with those of the room, then with all tests of the crate.
    fn file(&self, scratch: &Scratch, path: &str) -> Result<Entry, String> {
        scratch.fill(self.sources, Kept::Own(path))?;
        let mut mutants = match tool::run(scratch, self.own, &self.program, &[path], &[]) {
            Ok(mutants) => mutants,
            // Its tests may lean on those of another file: then all are needed from the start.
            Err(_) => {
                scratch.fill(self.sources, Kept::All)?;
                tool::run(scratch, self.own, &self.program, &[path], &[])?
            }
        };
        self.again(scratch, path, Kept::Room(path), &mut mutants)?;
        if !self.within_room {
            self.again(scratch, path, Kept::All, &mut mutants)?;
        }
        Ok(tool::entry(self.sources, path, &mutants))
    }

    fn again(
        &self,
        scratch: &Scratch,
        path: &str,
        kept: Kept<'_>,
        mutants: &mut [Mutant],
    ) -> Result<(), String> {
        let survived = |mutant: &&Mutant| mutant.end == End::Survived;
        let names: Vec<&str> = mutants.iter().filter(survived).map(|mutant| mutant.name.as_str()).collect();
        if names.is_empty() {
            return Ok(());
        }
        scratch.fill(self.sources, kept)?;
        // The tool lets mutants that delete a field through any choice by name: what was not asked for is left out.
        let mut second = tool::run(scratch, self.own, &self.program, &[path], &names)?;
        second.retain(|mutant| names.contains(&mutant.name.as_str()));
        if second.len() != names.len() {
            return Err(format!("{} of {} survivors could be tried again", second.len(), names.len()));
        }
        for mutant in mutants {
            if let Some(settled) = second.iter().find(|other| other.name == mutant.name) {
                *mutant = settled.clone();
            }
        }
        Ok(())
    }
}

/// One line on a file's outcome.
fn told(entry: &Entry) -> String {
    let name = entry.path.rsplit("src/").next().unwrap_or(&entry.path);
    let open = entry.survivors.iter().filter(|one| one.reason.is_empty()).count();
    format!(
        "{name}: {} mutants, {} caught, {} timed out, {} do not compile, {} survived ({open} without reason)",
        entry.mutants,
        entry.caught,
        entry.timeout,
        entry.unviable,
        entry.survivors.len()
    )
}

fn lock(shared: &Mutex<Shared>) -> MutexGuard<'_, Shared> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}
