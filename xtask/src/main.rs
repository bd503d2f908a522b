//! The one door of the project: everything a contributor does is a verb of `cargo xtask`.

mod apt;
mod budget;
mod bus;
mod campaign;
mod command;
mod coverage;
mod defects;
mod demo;
mod documents;
mod features;
mod firmware;
mod fuzz;
mod image;
mod mutants;
mod programs;
mod progress;
mod prove;
mod python;
mod reuse;
mod setup;
mod slurm;
mod socketcan;
mod suite;
mod tally;
mod toolchain;
mod workspace;

use std::{path::PathBuf, process::ExitCode};

use clap::{Args, CommandFactory, Parser, Subcommand};

const TEACH: &str = "\
First time here?
  cargo xtask demo           see the loader work, on this computer and as firmware in QEMU
  cargo xtask test           everything that is checked before a change lands
  cargo xtask setup --check  what this computer lacks, without installing anything

While working:
  cargo xtask test --list             the steps of the suite
  cargo xtask test --only clippy      one of them
  cargo xtask docs                    tables in the documents, after you changed a declaration
  cargo xtask budget --subject lever  what the blocks of a room cost on five cores
  cargo xtask firmware                the image, its size, and the proof that it cannot panic
  cargo xtask firmware --machine roller   that of another machine
  cargo xtask coverage                lines of the core crate that no test reaches
  cargo xtask mutants                 faults planted in what you changed in the core crate: is each noticed?
  cargo xtask defects                 mistakes planted in the loader: does the hunt find them?
  cargo xtask slurm-try               work in shards as a job array on this computer, against one process
  cargo xtask fuzz --seconds 60       mutated bytes at decoders and server, a minute a target
  cargo xtask prove --quick           every map at its boundaries, every guard through all its states
  cargo xtask prove                   the same over all inputs, and a million cases of each property (hours)

Every verb prints the commands it runs; each can be copied and run by hand from the top folder.";

#[derive(Parser)]
#[command(
    name = "cargo xtask",
    bin_name = "cargo xtask",
    about = "The one door: set up, see, test, build the image"
)]
#[command(after_help = TEACH, disable_help_subcommand = true)]
struct Door {
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Subcommand)]
enum Verb {
    /// Find what this computer lacks and install it (apt, as root or with sudo)
    Setup(SetupOptions),
    /// Build the loader, run its working cycle on host and in QEMU, compare, write a report
    Demo,
    /// Run the whole suite: format, lints, docs, tidiness, tests, firmware, parity in QEMU
    Test(TestOptions),
    /// Rewrite the generated parts of documents (wiring, faults, parameters) from the declarations
    Docs(DocsOptions),
    /// Weigh every block on five cores: instructions, flash, state, stack, beside C and f32
    Budget(budget::Options),
    /// Build a machine's bare-metal image, print its size, prove that no panic is reachable
    Firmware(FirmwareOptions),
    /// Drive decoders, transport and the diagnostic server with mutated bytes, for as long as you like
    Fuzz(fuzz::Options),
    /// Count how much of a machine is its own and how much it reuses, as its README tells
    Reuse(ReuseOptions),
    /// Plant small faults in the core crate; each must be noticed by a test or have its reason
    Mutants(mutants::Options),
    /// Lines and regions of the core crate that its tests reach; each other one must have its reason
    Coverage(coverage::Options),
    /// Plant mistakes in the loader's control program; the hunt must find them, and nothing without
    Defects(defects::Options),
    /// Try the job-array script for Slurm on a Slurm of its own: a campaign and a hunt in shards, merged, against one process
    SlurmTry,
    /// Try the desk program on SocketCAN, on a Linux with a virtual CAN interface in an emulated PC
    SocketcanTry,
    /// Sweep maps over all inputs, walk guards through all states, run properties a million times
    Prove(ProveOptions),
}

#[derive(Args)]
struct SetupOptions {
    /// Only say what is there and what is lacking; exit 1 if something is
    #[arg(long)]
    check: bool,
}

#[derive(Args)]
struct TestOptions {
    /// Run this step only (may be given more than once)
    #[arg(long, value_name = "STEP")]
    only: Vec<String>,
    /// List the steps and what each of them holds
    #[arg(long)]
    list: bool,
}

#[derive(Args)]
struct DocsOptions {
    /// Only say which are stale; exit 1 if one is
    #[arg(long)]
    check: bool,
}

#[derive(Args)]
struct FirmwareOptions {
    /// The machine: a package in `examples/` with a bin target `NAME-firmware`
    #[arg(long, default_value = "loader", value_name = "NAME")]
    machine: String,
    /// Compile log messages in (defmt, level `info`)
    #[arg(long)]
    log: bool,
}

#[derive(Args)]
struct ReuseOptions {
    /// The machine: a package in `examples/`
    #[arg(value_name = "NAME")]
    machine: String,
}

#[derive(Args)]
struct ProveOptions {
    /// Only this: a name of the list, a block such as `lever/axis`, or `sweep`, `walk`, `property`
    #[arg(long, value_name = "NAME")]
    only: Vec<String>,
    /// Boundaries and strides of the sweeps, all walks, no properties: a minute
    #[arg(long)]
    quick: bool,
    /// List the proofs and what each of them claims
    #[arg(long)]
    list: bool,
    /// Cases of each property; 0 leaves them out. A run that was ended goes on where it was
    #[arg(long, value_name = "NUMBER")]
    cases: Option<u64>,
    /// Begin nothing new after so long; what was done is kept in tests/proofs/record, and the next run goes on there
    #[arg(long, value_name = "MINUTES")]
    minutes: Option<u64>,
    /// Write what was covered, or with `--list` the list, to this file as JSON
    #[arg(long, value_name = "FILE")]
    json: Option<PathBuf>,
}

fn main() -> ExitCode {
    let door = Door::parse();
    let Some(verb) = door.verb else {
        return match Door::command().print_help() {
            Ok(()) => ExitCode::SUCCESS,
            Err(_) => ExitCode::FAILURE,
        };
    };
    let done = workspace::Workspace::find().and_then(|workspace| match verb {
        Verb::Setup(options) => setup::verb(&workspace, options.check),
        Verb::Demo => demo::verb(&workspace),
        Verb::Test(options) if options.list => suite::list(),
        Verb::Test(options) => suite::verb(&workspace, &options.only),
        Verb::Docs(options) => documents::verb(&workspace, options.check),
        Verb::Budget(options) => budget::verb(&workspace, &options),
        Verb::Mutants(options) => mutants::verb(&workspace, &options),
        Verb::Coverage(options) => coverage::verb(&workspace, &options),
        Verb::Fuzz(options) => fuzz::verb(&workspace, &options),
        Verb::Defects(options) => defects::verb(&workspace, &options),
        Verb::Firmware(options) => firmware::verb(&workspace, &options.machine, options.log),
        Verb::Reuse(options) => reuse::verb(&workspace, &options.machine),
        Verb::SlurmTry => slurm::verb(&workspace),
        Verb::SocketcanTry => socketcan::verb(&workspace),
        Verb::Prove(options) => prove::verb(&workspace, &options),
    });
    match done {
        Ok(code) => code,
        Err(problem) => {
            progress::say(format_args!("error: {problem}"));
            ExitCode::FAILURE
        }
    }
}

/// What a verb answers: the process's exit code, or why it could not do its work at all.
type Verdict = Result<ExitCode, String>;
