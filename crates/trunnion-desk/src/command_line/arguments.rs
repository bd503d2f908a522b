//! What can be typed.

use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::PossibleValuesParser;
use clap::{Args, Command, CommandFactory, FromArgMatches, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use trunnion_rig::hunt::STRATEGIES;
use trunnion_rig::shard::Shard;

use super::black_box::BoxArguments;
use super::drives::DriveArguments;
use super::examples;
use super::replay::ReplayArguments;
use super::trouble::Trouble;
use super::unit::UnitArguments;
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::sheets::Format;
use crate::tester::port::Place;

#[derive(Debug, Parser)]
#[command(subcommand_required = true, arg_required_else_help = true, disable_help_subcommand = true)]
struct Arguments {
    #[command(subcommand)]
    verb: Verb,
}

#[derive(Debug, Subcommand)]
pub(super) enum Verb {
    /// Say what there is: scenarios, requirements, controls, what can break, columns.
    List(ListArguments),
    /// Run scenarios and say which requirements held, and by how much.
    Run(RunArguments),
    /// Run the demo's scenarios, compare with the firmware, write a report and a picture.
    Demo(DemoArguments),
    /// Print a sheet that follows from the declaration.
    Sheet(SheetArguments),
    /// Write all sheets, a database of the bus (DBC) and a printable page into one folder.
    Papers(PapersArguments),
    /// Read scenario files and tell every error, without running them.
    Check(CheckArguments),
    /// Search for a story that violates a requirement: levers, switches, faults, loads, parameters.
    Hunt(HuntArguments),
    /// Break everything in every way in every state, and compare with what is expected.
    Campaign(CampaignArguments),
    /// Show what other parameters would do to margins and stopping distances in all scenarios and recorded drives, before they are written.
    Preview(PreviewArguments),
    /// Put together what there is to show: hazards, requirements, what was run, gaps.
    Evidence(EvidenceArguments),
    /// Let CAN tools talk to the machine: plant and controller in real time, its bus on a TCP port.
    Serve(ServeArguments),
    /// Talk with a controller over its service port: values, parameters, faults, routines, recording.
    Unit(UnitArguments),
    /// Go through a black box that was read from a controller, forward and back, with the why-not of each period.
    Box(BoxArguments),
    /// Play a log of the real bus to this program, compare what it sends with what the controller sent.
    Replay(ReplayArguments),
    /// Tell everything that is declared under a name.
    Explain(ExplainArguments),
    /// Print a completion script for a shell.
    Completions(CompletionsArguments),
}

#[derive(Debug, Args)]
pub(super) struct ListArguments {
    /// What to list; everything but the columns when left out.
    #[arg(value_enum)]
    pub(super) what: Vec<Listed>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Listed {
    /// Scenarios that are part of the program.
    Scenarios,
    /// What must hold in every run.
    Requirements,
    /// What scenarios can move and set.
    Controls,
    /// What scenarios can break, and how.
    Breaks,
    /// What is recorded, and formulas can speak of.
    Columns,
}

#[derive(Debug, Args)]
pub(super) struct RunArguments {
    /// Names of scenarios that are part of the program, or paths of scenario files.
    #[arg(value_name = "SCENARIO", required_unless_present = "all")]
    pub(super) scenarios: Vec<String>,
    /// Run all scenarios that are part of the program.
    #[arg(long, conflicts_with = "scenarios")]
    pub(super) all: bool,
    /// Let this firmware image run beside the host, tick by tick, and compare every bit that it drives.
    #[arg(long, value_name = "ELF")]
    pub(super) firmware: Option<PathBuf>,
    /// Store another parameter before the start: 'pivot_point = 400 ‰'. May be given several times.
    #[arg(long, value_name = "NAME = VALUE")]
    pub(super) parameter: Vec<String>,
    /// Another seed than the scenarios say.
    #[arg(long, value_name = "NUMBER")]
    pub(super) seed: Option<u64>,
    /// Write the trace of every run into this folder, as comma-separated values.
    #[arg(long, value_name = "DIR")]
    pub(super) csv: Option<PathBuf>,
    /// Write what each run has on its bus into this folder, as `candump -L` does: a log that `replay` takes.
    #[arg(long, value_name = "DIR")]
    pub(super) log: Option<PathBuf>,
    /// Write a report of all runs: one page of HTML that needs no network.
    #[arg(long, value_name = "FILE")]
    pub(super) report: Option<PathBuf>,
    /// Write the results as JSON; '-' writes them to the standard output and the tables to the error output.
    #[arg(long, value_name = "FILE")]
    pub(super) json: Option<PathBuf>,
    /// One line a scenario, and what did not hold.
    #[arg(long, short)]
    pub(super) quiet: bool,
}

#[derive(Debug, Args)]
pub(super) struct DemoArguments {
    /// Let this firmware image run beside the host, tick by tick, and compare every bit that it drives.
    #[arg(long, value_name = "ELF")]
    pub(super) firmware: Option<PathBuf>,
    /// Folder for report.html and picture.svg.
    #[arg(long, value_name = "DIR", default_value = "target/demo")]
    pub(super) out: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct SheetArguments {
    /// Which sheet.
    #[arg(value_enum)]
    pub(super) which: Which,
    /// How it is written.
    #[arg(long, value_enum, default_value = "text")]
    pub(super) format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Which {
    /// Every pin, what it carries, how it can fail.
    Wiring,
    /// Every parameter with range, default and who may write it.
    Parameters,
    /// Every fault with its codes, times and reactions.
    Faults,
    /// Every signal of a trace.
    Signals,
    /// Every message of the bus with its fields.
    Messages,
    /// Every identifier, routine and trouble code of the service port.
    Identifiers,
    /// The memory of the controller's state, and what its black box has of it.
    Memory,
}

#[derive(Debug, Args)]
pub(super) struct PapersArguments {
    /// Folder for the papers; files of an earlier time are overwritten.
    #[arg(long, value_name = "DIR", default_value = "target/papers")]
    pub(super) out: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct CheckArguments {
    /// Scenario files.
    #[arg(value_name = "FILE", required = true)]
    pub(super) files: Vec<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct ExplainArguments {
    /// Name of a signal, parameter, fault, requirement, hazard, control or scenario.
    #[arg(value_name = "NAME")]
    pub(super) name: String,
}

/// Work that is done in several processes.
#[derive(Debug, Args)]
pub(super) struct ShardArguments {
    /// Do only this part of the work: 2/4 is the second of four.
    #[arg(long, value_name = "K/N", default_value_t = Shard::WHOLE)]
    pub(super) shard: Shard,
    /// Write what this shard has found into this file, to be merged.
    #[arg(long, value_name = "FILE")]
    pub(super) part: Option<PathBuf>,
    /// Put the files of all shards together instead of doing any work.
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub(super) merge: Vec<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct HuntArguments {
    /// Runs that a hunt may take; a run that branches off another counts as a whole one.
    #[arg(long, value_name = "NUMBER", default_value_t = 2_000)]
    pub(super) simulations: u64,
    /// Seconds after which no new round begins; the result then depends on the computer.
    #[arg(long, value_name = "SECONDS")]
    pub(super) time: Option<u64>,
    /// How runs are chosen.
    #[arg(long, default_value = "branching", value_parser = PossibleValuesParser::new(STRATEGIES))]
    pub(super) strategy: String,
    /// Seed of the first hunt; each further one has the next.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(super) seed: u64,
    /// Number of hunts, each with a seed of its own.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(super) hunts: u64,
    /// Hunt this requirement only. May be given several times.
    #[arg(long, value_name = "ID")]
    pub(super) only: Vec<String>,
    /// Threads; as many as there are processors when left out. The result does not depend on it.
    #[arg(long, value_name = "NUMBER")]
    pub(super) jobs: Option<usize>,
    #[command(flatten)]
    pub(super) shards: ShardArguments,
    /// Folder for the scenarios of what was found.
    #[arg(long, value_name = "DIR", default_value = "target/hunt")]
    pub(super) out: PathBuf,
    /// Write the results as JSON; '-' writes them to the standard output and the text to the error output.
    #[arg(long, value_name = "FILE")]
    pub(super) json: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct CampaignArguments {
    /// Two failures at once, named signal:way+signal:way@state, instead of one. All pairs are very many: give a --sample,
    /// or a --shard to each of many computers.
    #[arg(long)]
    pub(super) pairs: bool,
    /// Only cells, named signal:way@state, or pairs, of whose name this is a part. May be given several times: all must fit.
    #[arg(long, value_name = "PART")]
    pub(super) only: Vec<String>,
    /// Threads; as many as there are processors when left out. The result does not depend on it.
    #[arg(long, value_name = "NUMBER")]
    pub(super) jobs: Option<usize>,
    /// Only this cell, by its whole name, with all that was measured and the scenario that replays it.
    #[arg(long, value_name = "SIGNAL:WAY@STATE", conflicts_with_all = ["only", "sample"])]
    pub(super) cell: Option<String>,
    /// Of these cells, so many that the seed draws.
    #[arg(long, value_name = "NUMBER")]
    pub(super) sample: Option<usize>,
    /// Seed of the sample.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub(super) seed: u64,
    #[command(flatten)]
    pub(super) shards: ShardArguments,
    /// Folder for the scenarios that replay what was not as expected.
    #[arg(long, value_name = "DIR", default_value = "target/campaign")]
    pub(super) out: PathBuf,
    /// Write a page of HTML that shows every cell by signal, way and state; it needs no network.
    #[arg(long, value_name = "FILE")]
    pub(super) report: Option<PathBuf>,
    /// Write a row for every cell into this file, as comma-separated values; '-' is the standard output.
    #[arg(long, value_name = "FILE")]
    pub(super) csv: Option<PathBuf>,
    /// Write everything that was measured as JSON; '-' is the standard output.
    #[arg(long, value_name = "FILE")]
    pub(super) json: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct PreviewArguments {
    /// The set, as in a scenario: 'drive_stop = 700 ms'. What is not named stays.
    #[arg(value_name = "NAME = VALUE", required = true)]
    pub(super) settings: Vec<String>,
    /// Keep set, margins and stops in this file, as JSON.
    #[arg(long, value_name = "FILE")]
    pub(super) store: Option<PathBuf>,
    #[command(flatten)]
    pub(super) drives: DriveArguments,
    /// Threads; as many as there are processors when left out. The result does not depend on it.
    #[arg(long, value_name = "NUMBER")]
    pub(super) jobs: Option<usize>,
}

#[derive(Debug, Args)]
pub(super) struct EvidenceArguments {
    /// Folder for the page and its tables; files of an earlier time are overwritten.
    #[arg(long, value_name = "DIR", default_value = "target/evidence")]
    pub(super) out: PathBuf,
    /// What `campaign --json FILE` has written; without it the campaign is a gap.
    #[arg(long, value_name = "FILE")]
    pub(super) campaign: Option<PathBuf>,
    /// What `hunt --json FILE` has written; without it the hunt is a gap.
    #[arg(long, value_name = "FILE")]
    pub(super) hunt: Option<PathBuf>,
    /// Let this firmware image run beside the host in all scenarios.
    #[arg(long, value_name = "ELF")]
    pub(super) firmware: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct ServeArguments {
    /// Play this scenario first: a name of the program or a path; what it leaves stays. All at rest when left out.
    #[arg(value_name = "SCENARIO")]
    pub(super) scenario: Option<String>,
    /// TCP port; 0 takes one that is free.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub(super) port: u16,
    /// Let other computers in, on a closed bench network only. Else this computer alone.
    #[arg(long)]
    pub(super) network: bool,
    /// Put the bus onto this one as well: can:INTERFACE of Linux's SocketCAN, a serial adaptor such as /dev/ttyACM0, or
    /// tcp:HOST:PORT. Units that are on it take part: real levers, other controllers, tools.
    #[arg(long, value_name = "PLACE")]
    pub(super) onto: Option<Place>,
    /// Let this firmware image answer beside the host's own copy, tick by tick; the first bit that differs ends it.
    #[arg(long, value_name = "ELF")]
    pub(super) firmware: Option<PathBuf>,
    /// Write every frame into this file, as `candump -L` does.
    #[arg(long, value_name = "FILE")]
    pub(super) record: Option<PathBuf>,
    /// End after so many seconds; else when interrupted.
    #[arg(long, value_name = "NUMBER")]
    pub(super) seconds: Option<u32>,
}

#[derive(Debug, Args)]
pub(super) struct CompletionsArguments {
    /// The shell.
    #[arg(value_enum)]
    shell: Shell,
}

/// Reads what was typed behind the program's name.
pub(super) fn parse<B: Bench>(
    arguments: impl IntoIterator<Item = impl Into<OsString> + Clone>,
) -> Result<Verb, clap::Error> {
    let typed = arguments.into_iter().map(Into::into);
    let all = std::iter::once(OsString::from(B::NAME)).chain(typed);
    let mut command = command::<B>();
    let matches = command.try_get_matches_from_mut(all)?;
    Arguments::from_arg_matches(&matches)
        .map(|arguments| arguments.verb)
        .map_err(|error| error.format(&mut command))
}

/// Prints a completion script.
pub(super) fn completions<B: Bench>(
    arguments: &CompletionsArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut command::<B>(), B::NAME, &mut script);
    streams.out.write_all(&script)?;
    Ok(Outcome::AllHeld)
}

fn command<B: Bench>() -> Command {
    let first = B::SCENARIOS.first().map_or("SCENARIO", |(name, _)| *name);
    let requirement = B::REQUIREMENTS.first().map_or("R-01", |requirement| requirement.id);
    let taught = Arguments::command()
        .name(B::NAME)
        .bin_name(B::NAME)
        .version(B::VERSION)
        .about(format!("{}\n{}", B::TITLE, B::ABOUT))
        .after_help(format!(
            "{}\nExit codes: 0 everything held, 1 a requirement did not hold, a cell is not as declared, a set is refused, host and firmware differ, or a replay and what was recorded, 2 wrong usage, \
             unreadable input, or something needed is not installed, 3 a hunt found something.",
            examples::of(B::NAME, first, requirement, "")
        ));
    let verbs: Vec<String> = taught.get_subcommands().map(|verb| verb.get_name().to_owned()).collect();
    verbs.iter().fold(taught, |taught, name| {
        taught.mut_subcommand(name, |verb| verb.after_help(examples::of(B::NAME, first, requirement, name)))
    })
}
