//! The command line of the proofs; `cargo xtask prove` calls it.

use std::{
    fs,
    process::ExitCode,
    thread,
    time::{Duration, Instant},
};

use clap::{Args, Parser, Subcommand};
use proofs::{
    campaign, catalogue,
    progress::Progress,
    proof::{Bench, Effort, Kind, Proof},
    record::{self, Entry, Keeper, Record},
    sources,
};

#[derive(Parser)]
#[command(
    about = "What the core crates claim, over all inputs and all states",
    disable_help_subcommand = true
)]
struct Door {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Subcommand)]
enum Verb {
    /// What there is: name, block, kind, claims
    List(ListOptions),
    /// Sweep, walk and run properties
    Run(RunOptions),
}

#[derive(Args)]
struct ListOptions {
    /// As JSON, properties included
    #[arg(long)]
    json: bool,
}

#[derive(Args)]
struct RunOptions {
    /// Only this: a name of the list, a block such as `lever/axis`, or `sweep`, `walk`, `property`
    #[arg(long, value_name = "NAME")]
    only: Vec<String>,
    /// Boundaries and strides of the sweeps, all walks, no properties
    #[arg(long)]
    quick: bool,
    /// Cases of each property; 0 leaves them out
    #[arg(long, default_value_t = record::CASES, value_name = "NUMBER")]
    cases: u64,
    /// Begin nothing new after so long; what was done is kept in tests/proofs/record, and the next run goes on there
    #[arg(long, value_name = "MINUTES")]
    minutes: Option<u64>,
    /// Write what was covered here, as JSON
    #[arg(long, value_name = "FILE")]
    json: Option<std::path::PathBuf>,
}

fn main() -> ExitCode {
    let done = match Door::parse().verb {
        Verb::List(options) => list(&options).map(|()| true),
        Verb::Run(options) => run(&options),
    };
    match done {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(problem) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
    }
}

fn list(options: &ListOptions) -> Result<(), String> {
    let mut listed: Vec<catalogue::Listed> = catalogue::all().iter().map(catalogue::listed).collect();
    listed.extend(campaign::properties()?.into_iter().map(|property| catalogue::Listed {
        name: property.name,
        block: property.block,
        kind: Kind::Property,
        family: "generated".to_owned(),
        claims: vec![property.claim],
    }));
    if options.json {
        let text = serde_json::to_string_pretty(&listed).map_err(|error| error.to_string())?;
        println!("{text}");
        return Ok(());
    }
    for one in listed {
        println!("{:<6} {}  ({}; {})", one.kind.name(), one.name, one.block, one.family);
        for claim in one.claims {
            println!("         - {claim}");
        }
    }
    Ok(())
}

fn run(options: &RunOptions) -> Result<bool, String> {
    let progress = Progress::new();
    let effort = if options.quick { Effort::Quick } else { Effort::Whole };
    let threads = thread::available_parallelism().map_or(1, usize::from);
    let bench = Bench { effort, threads, progress: &progress };
    let mut keeper = Keeper::open()?;
    // A name of the catalogue, or else of a property.
    let proofs = match catalogue::chosen(&options.only) {
        Ok(proofs) => proofs,
        Err(_) if campaign_has(&options.only)? => Vec::new(),
        Err(refusal) => return Err(refusal),
    };
    let until = options.minutes.map(|minutes| Instant::now() + Duration::from_secs(60 * minutes));
    let (mut passed, mut failed) = (0, Vec::new());
    let (mut entries, mut left) = (Vec::new(), Vec::new());
    let of = proofs.len();
    for (place, proof) in proofs.iter().enumerate() {
        if keeper.of(proof.name).is_none() && until.is_some_and(|until| Instant::now() >= until) {
            left.push(proof.name.to_owned());
            continue;
        }
        let entry = match keeper.of(proof.name).filter(|_| effort == Effort::Whole) {
            Some(known) => known.clone(),
            None => prove(proof, &bench, place + 1, of),
        };
        if entry.outcome.findings.is_empty() {
            passed += 1;
        }
        for finding in &entry.outcome.findings {
            progress.say(&format!("    FAILED: {}: {finding}", entry.name));
            failed.push(entry.name.clone());
        }
        if effort == Effort::Whole && keeper.of(proof.name).is_none() {
            keeper.keep(entry.clone())?;
        }
        entries.push(entry);
    }
    if !options.quick && options.cases > 0 && (options.only.is_empty() || campaign_has(&options.only)?) {
        let (done, failures) = campaign::run(&bench, options.cases, &options.only, until)?;
        passed += done.values().filter(|done| done.cases >= options.cases).count();
        failed.extend(failures);
    }
    progress.end();
    conclude(options, entries, left, passed, &failed)
}

/// Whether any of the names is one of a property or of a block that has some.
fn campaign_has(only: &[String]) -> Result<bool, String> {
    let properties = campaign::properties()?;
    Ok(only.iter().any(|name| {
        name == "property"
            || properties
                .iter()
                .any(|property| property.block == *name || property.name.contains(name.as_str()))
    }))
}

fn prove(proof: &Proof, bench: &Bench<'_>, place: usize, of: usize) -> Entry {
    let began = Instant::now();
    let outcome = (proof.run)(bench).timed(began.elapsed());
    let covered = match proof.kind {
        Kind::Walk => format!("{} states, {} transitions", outcome.states, outcome.transitions),
        Kind::Sweep | Kind::Property => format!("{} inputs", outcome.inputs),
    };
    bench.progress.say(&format!(
        "[{place}/{of}] {:<5} {:<22} {} configurations, {covered}, {:.1} s",
        proof.kind.name(),
        proof.name,
        outcome.configurations,
        outcome.seconds
    ));
    for words in outcome.measured.iter().filter(|_| proof.kind == Kind::Sweep) {
        bench.progress.say(&format!("          {words}"));
    }
    Entry {
        name: proof.name.to_owned(),
        block: proof.block.to_owned(),
        kind: proof.kind,
        family: proof.family.to_owned(),
        outcome,
    }
}

fn conclude(
    options: &RunOptions,
    entries: Vec<Entry>,
    left: Vec<String>,
    passed: usize,
    failed: &[String],
) -> Result<bool, String> {
    let properties = record::counted(&campaign::properties()?, &campaign::done_so_far()?);
    let record = Record {
        toolchain: sources::toolchain(),
        sources: sources::hash().map_err(|error| error.to_string())?,
        left,
        proofs: entries,
        properties,
    };
    if let Some(path) = &options.json {
        let text = serde_json::to_string_pretty(&record).map_err(|error| error.to_string())?;
        fs::write(path, text).map_err(|error| format!("{}: {error}", path.display()))?;
    }
    if !options.quick && options.only.is_empty() && failed.is_empty() {
        Keeper::keep_in_project(&record.proofs)?;
        campaign::keep()?;
        record::write(&record)?;
        println!("written: {}", record::PATH);
    } else if let Ok(text) = fs::read_to_string(sources::root().join(record::PATH))
        && !text.contains(&record.sources)
    {
        println!("note: {} is of other sources; `cargo xtask prove` writes it anew", record::PATH);
    }
    if options.minutes.is_some() {
        let (left, short) = (record.left.len(), record.short_of(options.cases));
        println!("left for the next run: {left} sweeps and walks, {short} properties");
    }
    println!("{passed} passed, {} failed, 0 skipped", failed.len());
    Ok(failed.is_empty())
}
