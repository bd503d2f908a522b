//! Mutants: small faults planted in the core crate, each of which some test must notice.
//!
//! cargo-mutants plants them; this verb keeps what came of them in a ledger, file by file, so that only files that
//! changed are run again, and holds every survivor against a written reason.

mod campaign;
mod declarations;
mod ledger;
mod rows;
mod sample;
mod scratch;
mod sources;
mod tool;

pub use tool::{PROGRAM, VERSION, program};

use std::{path::PathBuf, process::ExitCode, thread};

use campaign::Campaign;
use ledger::Ledger;
use sources::Sources;

use crate::{
    Verdict,
    progress::say,
    setup::{self, Need},
    tally::Tally,
    toolchain::Toolchain,
    workspace::Workspace,
};

/// What the verb was asked for.
#[derive(Debug, Clone, Default, clap::Args)]
pub struct Options {
    /// Run nothing: only hold the ledger against the sources
    #[arg(long)]
    check: bool,
    /// A file whose entry is stale fails, too
    #[arg(long)]
    strict: bool,
    /// Run these files only, though unchanged: a part of their path (may be given more than once)
    #[arg(long, value_name = "PART")]
    only: Vec<String>,
    /// Run these files last (may be given more than once)
    #[arg(long, value_name = "PART")]
    last: Vec<String>,
    /// Run all files, though unchanged
    #[arg(long)]
    again: bool,
    /// Try survivors with the tests of their room only, not with those of the whole crate: faster and stricter
    #[arg(long)]
    within_room: bool,
    /// Copies of the crate to work on at a time (default: one for each core)
    #[arg(long, value_name = "NUMBER")]
    jobs: Option<usize>,
    /// Try so many mutants, drawn from all files, and leave the ledger as it is; of declarations, so many more
    #[arg(long, value_name = "NUMBER")]
    sample: Option<usize>,
    /// Change rows of a machine's declaration instead: a package in `examples/`
    #[arg(long, value_name = "MACHINE", num_args = 0..=1, default_missing_value = "loader")]
    declarations: Option<String>,
    /// What the drawing begins with
    #[arg(long, value_name = "NUMBER", default_value_t = sample::SEED)]
    seed: u64,
}

/// The verb.
pub fn verb(workspace: &Workspace, options: &Options) -> Verdict {
    let own = Toolchain::own()?;
    let mut tally = Tally::default();
    if let Some(machine) = &options.declarations {
        let number = if options.check { Some(0) } else { options.sample };
        declarations::verb(workspace, &own, machine, number, &mut tally)?;
        return Ok(closed(&tally));
    }
    let sources = Sources::read(workspace)?;
    if let Some(number) = options.sample {
        let program = provide(workspace, &own)?;
        sample::run(workspace, &own, &program, number, options.seed, &mut tally);
        return Ok(closed(&tally));
    }
    let mut ledger = Ledger::read(workspace)?;
    let known: Vec<&str> = sources.paths().collect();
    ledger.files.retain(|entry| known.contains(&entry.path.as_str()));
    if !options.check {
        let paths = chosen(&sources, &ledger, options);
        let program = provide(workspace, &own)?;
        let jobs = options.jobs.unwrap_or_else(|| thread::available_parallelism().map_or(1, usize::from));
        say(format_args!("  {} of {} files to run, {jobs} at a time", paths.len(), known.len()));
        let campaign =
            Campaign { workspace, own: &own, program, sources: &sources, within_room: options.within_room };
        ledger.write(workspace)?;
        for why in campaign.run(paths, jobs) {
            tally.fail("a file's mutants", why);
        }
        ledger = Ledger::read(workspace)?;
    }
    judge(&sources, &ledger, options.strict, &mut tally);
    Ok(closed(&tally))
}

/// What a run of the suite looks at first: the ledger, for which no tool is needed.
pub fn hold_ledger(workspace: &Workspace, tally: &mut Tally) {
    match Sources::read(workspace).and_then(|sources| Ok((sources, Ledger::read(workspace)?))) {
        Ok((sources, ledger)) => judge(&sources, &ledger, false, tally),
        Err(why) => tally.fail("the ledger of mutants", why),
    }
}

/// What a run of the suite looks at then: a few mutants.
pub fn hold_sample(workspace: &Workspace, own: &Toolchain, tally: &mut Tally) {
    match program(workspace) {
        Some(program) => sample::run(workspace, own, &program, sample::OF_SUITE, sample::SEED, tally),
        None => tally.fail("a sample of mutants", "cargo-mutants is not here".to_owned()),
    }
}

fn closed(tally: &Tally) -> ExitCode {
    say(tally.counts());
    if tally.failed.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn provide(workspace: &Workspace, own: &Toolchain) -> Result<PathBuf, String> {
    setup::provide(workspace, own, &[Need::Mutants]);
    program(workspace).ok_or_else(|| "cargo-mutants is not here; see above".to_owned())
}

/// The files to run, in their order: what was never run or has changed, unless the options say otherwise.
fn chosen(sources: &Sources, ledger: &Ledger, options: &Options) -> Vec<String> {
    let any = |parts: &[String], path: &str| parts.iter().any(|part| path.contains(part.as_str()));
    let wanted = |path: &&str| {
        if !options.only.is_empty() {
            return any(&options.only, path);
        }
        options.again || ledger.entry(path).is_none_or(|entry| entry.hash != sources.hash(path))
    };
    let mut paths: Vec<String> = sources.paths().filter(wanted).map(str::to_owned).collect();
    paths.sort_by_key(|path| (any(&options.last, path), path.clone()));
    paths
}

/// Holds the ledger against the sources.
fn judge(sources: &Sources, ledger: &Ledger, strict: bool, tally: &mut Tally) {
    let total = |of: fn(&ledger::Entry) -> usize| ledger.files.iter().map(of).sum::<usize>();
    let survived = total(|entry| entry.survivors.len());
    say(format_args!(
        "  {} mutants: {} caught, {} timed out, {} do not compile, {survived} survived",
        total(|entry| entry.mutants),
        total(|entry| entry.caught),
        total(|entry| entry.timeout),
        total(|entry| entry.unviable),
    ));
    let absent: Vec<&str> = sources.paths().filter(|path| ledger.entry(path).is_none()).collect();
    let what = "every file of the crate is in the ledger";
    if absent.is_empty() {
        tally.pass(what)
    } else {
        tally.fail(what, listed("never run", &absent))
    }

    let changed = |entry: &&ledger::Entry| entry.hash != sources.hash(&entry.path);
    let stale: Vec<&str> = ledger.files.iter().filter(changed).map(|entry| entry.path.as_str()).collect();
    let what = "every entry is of the file as it is";
    if stale.is_empty() {
        tally.pass(what);
    } else if strict {
        tally.fail(what, listed("stale", &stale));
    } else {
        say(format_args!("    warning: {}", listed("stale", &stale)));
    }

    let what = "every survivor has its reason";
    let unexplained = ledger.unexplained();
    if unexplained.is_empty() {
        tally.pass(what);
    } else {
        for one in &unexplained {
            say(format_args!("      {one}"));
        }
        let remedy = format!(
            "{} have none: make a test notice them, or write the reason in {}",
            unexplained.len(),
            ledger::PATH
        );
        tally.fail(what, remedy);
    }
}

fn listed(what: &str, paths: &[&str]) -> String {
    format!("{} {what}: {}; `cargo xtask mutants` runs them", paths.len(), paths.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_has_not_changed_is_not_run_again_unless_it_is_asked_for() {
        let sources = Sources::read(&Workspace::find().unwrap()).unwrap();
        let mut ledger = Ledger::default();
        let all = chosen(&sources, &ledger, &Options::default());
        for path in &all {
            let hash = sources.hash(path);
            ledger.put(ledger::Entry { path: path.clone(), hash, ..ledger::Entry::default() });
        }
        assert!(chosen(&sources, &ledger, &Options::default()).is_empty());
        let only = Options { only: vec!["fault/log".to_owned()], ..Options::default() };
        assert_eq!(chosen(&sources, &ledger, &only), ["crates/trunnion/src/fault/log.rs"]);
        let again = Options { again: true, last: vec!["declare".to_owned()], ..Options::default() };
        let order = chosen(&sources, &ledger, &again);
        assert_eq!(order.len(), all.len());
        assert!(order.last().unwrap().contains("declare"));
    }

    #[test]
    fn a_stale_entry_warns_and_fails_where_it_is_to_and_an_absent_one_fails() {
        let sources = Sources::read(&Workspace::find().unwrap()).unwrap();
        let mut ledger = Ledger::default();
        for path in sources.paths() {
            ledger.put(ledger::Entry { path: path.to_owned(), ..ledger::Entry::default() });
        }
        for (strict, failed) in [(false, 0), (true, 1)] {
            let mut tally = Tally::default();
            judge(&sources, &ledger, strict, &mut tally);
            assert_eq!(tally.failed.len(), failed);
        }
        let mut tally = Tally::default();
        judge(&sources, &Ledger::default(), false, &mut tally);
        assert_eq!(tally.failed.len(), 1);
    }
}
