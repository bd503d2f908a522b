//! Mutates the corpus of each target for as long as asked, and keeps what reaches something new.

use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Duration;

use clap::Parser;
use fuzz::loops::{Came, Limits, run};
use fuzz::targets::{ALL, Target};
use fuzz::{corpus, loops};
use indicatif::{ProgressBar, ProgressStyle};

#[derive(Debug, Parser)]
#[command(name = "fuzz", about = "Runs every target on mutated inputs; see `--list`")]
struct Options {
    /// Name the targets and what they hold.
    #[arg(long)]
    list: bool,
    /// Only this target. May be given several times.
    #[arg(long, value_name = "TARGET")]
    only: Vec<String>,
    /// Inputs of each target.
    #[arg(long, value_name = "NUMBER", default_value_t = 20_000_000)]
    executions: u64,
    /// Seconds of each target, at most.
    #[arg(long, value_name = "NUMBER", default_value_t = 3_600)]
    seconds: u64,
    /// Seed of the mutations.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    seed: u64,
    /// Folder for what is found; corpora of earlier runs there are taken up.
    #[arg(long, value_name = "DIR", default_value = "target/fuzz-corpus")]
    out: PathBuf,
    /// Write at most so many inputs of each target, the shortest, into the corpus that is part of the sources.
    #[arg(long, value_name = "NUMBER")]
    adopt: Option<usize>,
}

fn main() -> ExitCode {
    let options = Options::parse();
    if options.list {
        for target in ALL {
            println!("{:<14} {}", target.name, target.holds);
        }
        return ExitCode::SUCCESS;
    }
    if let Some(unknown) = options.only.iter().find(|name| ALL.iter().all(|target| target.name != **name)) {
        eprintln!("there is no target `{unknown}`; --list names them");
        return ExitCode::from(2);
    }
    // A failed assertion is told once, with its input, below.
    std::panic::set_hook(Box::new(|_| {}));
    let wanted =
        |target: &&Target| options.only.is_empty() || options.only.iter().any(|name| name == target.name);
    let mut all_held = true;
    let mut total = 0;
    for target in ALL.iter().filter(wanted) {
        match one(target, &options) {
            Ok(came) => {
                total += came.executions;
                all_held &= came.broken.is_none();
            }
            Err(error) => {
                eprintln!("{}: {error}", target.name);
                all_held = false;
            }
        }
    }
    println!("{total} executions in all");
    if all_held { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn one(target: &Target, options: &Options) -> std::io::Result<Came> {
    let found = options.out.join(target.name);
    let mut inputs = corpus::read(&corpus::folder(target.name))?;
    inputs.extend(corpus::read(&found)?);
    let bar = ProgressBar::new(options.executions);
    if let Ok(style) = ProgressStyle::with_template("{prefix:14} {bar:24} {msg}") {
        bar.set_style(style);
    }
    bar.set_prefix(target.name);
    let limits = Limits { executions: options.executions, time: Duration::from_secs(options.seconds) };
    let came = run(target, &inputs, options.seed, limits, |came| {
        bar.set_position(came.executions);
        bar.set_message(figures(came));
    });
    bar.finish_and_clear();
    println!("{:<14} {}", target.name, figures(&came));
    for input in &came.kept {
        corpus::keep(&found, input)?;
    }
    if let Some(most) = options.adopt {
        let mut kept = came.kept.clone();
        kept.sort_by_key(Vec::len);
        for input in kept.iter().take(most) {
            corpus::keep(&corpus::folder(target.name), input)?;
        }
    }
    if let Some(broken) = &came.broken {
        let path = corpus::keep(&options.out.join("broken").join(target.name), broken)?;
        println!("  does not hold: {}", target.holds);
        println!(
            "  the input is in {}; put it into {}",
            path.display(),
            corpus::folder(target.name).display()
        );
        // Once more, with its words.
        drop(std::panic::take_hook());
        let _ = loops::holds(target, broken);
        std::panic::set_hook(Box::new(|_| {}));
    }
    Ok(came)
}

fn figures(came: &Came) -> String {
    let rate = came.executions as f64 / came.took.as_secs_f64().max(1e-6);
    let (passed, possible) = came.edges;
    let edges = if possible == 0 { "no counters".to_owned() } else { format!("{passed} edges") };
    format!("{} executions, {rate:.0} a second, {edges}, {} inputs kept", came.executions, came.kept.len())
}
