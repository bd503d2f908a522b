//! The long run of the property tests: a million cases each, in pieces that a run can be continued from.
//!
//! A piece is one property with one seed and so many cases: the same inputs on every computer. The test binary is run once
//! a piece, with the number of cases and the seed in its environment, so that pieces run side by side and a run that was
//! ended goes on where it was. What was done is kept as lines of JSON; lines of other sources do not count.
//! A case that fails is shrunk by the test itself, which keeps it in `proptest-regressions` beside the sources: to be
//! committed, and tried first ever after.

mod discover;
mod ledger;

use std::{
    collections::BTreeMap,
    path::PathBuf,
    process::{Command, Stdio},
    sync::Mutex,
    time::Instant,
};

pub use discover::{Property, properties};
pub use ledger::{KEPT, Ledger, Piece};

use crate::{proof::Bench, sources, threads};

/// Cases of a piece.
pub const PIECE: u64 = 50_000;
/// A property that assumes much may throw away as many inputs as it likes: the time is the limit.
const REJECTS: &str = "4000000000";
/// So much of a failure is shown.
const SHOWN: usize = 2_000;

/// What a campaign has done so far for one property.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Done {
    /// Cases that held.
    pub cases: u64,
    /// Time of all pieces, each on one core.
    pub seconds: f64,
}

/// Runs every property until it has `cases` cases, or until it is time; gives what each of them has, and the failures.
pub fn run(
    bench: &Bench<'_>,
    cases: u64,
    only: &[String],
    until: Option<Instant>,
) -> Result<(BTreeMap<String, Done>, Vec<String>), String> {
    let chosen = chosen(only)?;
    let binaries = binaries()?;
    let ledger = Mutex::new(Ledger::open()?);
    let mut wanted = Vec::new();
    // Seed by seed, so that a run that is ended early has seen every property alike.
    for seed in 1..=cases.div_ceil(PIECE) {
        let of_piece = PIECE.min(cases - (seed - 1) * PIECE);
        for property in &chosen {
            if !lock(&ledger).has(&property.name, seed, of_piece) {
                wanted.push((property, seed, of_piece));
            }
        }
    }
    bench.progress.begin("properties", wanted.len() as u64);
    let failures = threads::in_order(bench.threads, wanted.len() as u64, |place| {
        let (property, seed, cases) = wanted[place as usize];
        if until.is_some_and(|until| Instant::now() >= until) {
            return None;
        }
        let failure = piece(property, seed, cases, &binaries, &ledger);
        bench.progress.advance(1);
        if let Err(why) = &failure {
            bench.progress.say(&format!("    FAILED: {why}"));
        }
        failure.err()
    });
    let done = lock(&ledger).summary();
    Ok((done, failures.into_iter().flatten().collect()))
}

/// What all runs have done with the present sources.
pub fn done_so_far() -> Result<BTreeMap<String, Done>, String> {
    Ok(Ledger::open()?.summary())
}

/// Writes it into the project, so that another clone goes on there.
pub fn keep() -> Result<(), String> {
    let text = Ledger::open()?.kept()?;
    std::fs::write(sources::root().join(KEPT), text).map_err(|error| format!("{KEPT}: {error}"))
}

fn chosen(only: &[String]) -> Result<Vec<Property>, String> {
    let mut all = properties()?;
    let fits = |property: &Property| {
        only.is_empty()
            || only.iter().any(|name| {
                name == "property" || *name == property.block || property.name.contains(name.as_str())
            })
    };
    all.retain(fits);
    Ok(all)
}

fn piece(
    property: &Property,
    seed: u64,
    cases: u64,
    binaries: &BTreeMap<String, PathBuf>,
    ledger: &Mutex<Ledger>,
) -> Result<(), String> {
    let name = &property.name;
    let Some(binary) = binaries.get(&property.package) else {
        return Err(format!("{name}: Cargo built no tests of {}", property.package));
    };
    let began = Instant::now();
    let output = Command::new(binary)
        .args(["--exact", &property.test])
        .current_dir(sources::root().join(&property.folder))
        .env("PROPTEST_CASES", cases.to_string())
        .env("PROPTEST_RNG_SEED", seed.to_string())
        .env("PROPTEST_MAX_GLOBAL_REJECTS", REJECTS)
        .env("PROPTEST_MAX_LOCAL_REJECTS", REJECTS)
        .env("RUST_BACKTRACE", "0")
        .stdin(Stdio::null())
        .output()
        .map_err(|error| format!("{name}: {} does not start: {error}", binary.display()))?;
    let text = String::from_utf8_lossy(&output.stdout);
    if output.status.success() && text.contains("test result: ok. 1 passed") {
        let seconds = began.elapsed().as_secs_f64();
        return lock(ledger).note(Piece { property: name.clone(), seed, cases, seconds });
    }
    let errors = String::from_utf8_lossy(&output.stderr);
    let shown: String = text.chars().chain(errors.chars()).take(SHOWN).collect();
    Err(format!("{name}, seed {seed}, {cases} cases:\n{shown}"))
}

/// The test binaries of the core crates, built with optimisation.
fn binaries() -> Result<BTreeMap<String, PathBuf>, String> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command.args(["test", "--release", "--lib", "--no-run", "--message-format=json"]);
    for (package, _) in discover::PACKAGES {
        command.args(["--package", package]);
    }
    let output = command
        .current_dir(sources::root())
        .stderr(Stdio::inherit())
        .output()
        .map_err(|error| format!("cargo does not start: {error}"))?;
    if !output.status.success() {
        return Err("the tests of the core crates do not build; see above".to_owned());
    }
    let mut binaries = BTreeMap::new();
    for line in String::from_utf8_lossy(&output.stdout).lines() {
        let Ok(message) = serde_json::from_str::<serde_json::Value>(line) else { continue };
        let name = message["target"]["name"].as_str().map(|name| name.replace('_', "-"));
        if let (Some(name), Some(path)) = (name, message["executable"].as_str()) {
            binaries.insert(name, PathBuf::from(path));
        }
    }
    Ok(binaries)
}

fn lock<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}
