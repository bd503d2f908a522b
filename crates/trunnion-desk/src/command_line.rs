//! The command line that every machine gets.
//!
//! A machine's desk program is its [`Bench`] and one line:
//!
//! ```text
//! fn main() -> std::process::ExitCode {
//!     trunnion_desk::command_line::main::<LoaderBench>()
//! }
//! ```
//!
//! | verb | does |
//! |---|---|
//! | `list` | scenarios, requirements, controls, what can break, columns |
//! | `run` | runs scenarios on the host, and beside it the firmware in an emulated board |
//! | `hunt` | searches for a story that violates a requirement, and makes it short |
//! | `campaign` | breaks everything in every way in every state, and compares with what is expected |
//! | `preview` | what other parameters would do to margins and stops, before they are written |
//! | `evidence` | from hazard to requirement to what was run, with the gaps, in one folder |
//! | `serve` | plant and controller in real time, the machine's bus on a TCP port |
//! | `demo` | runs the demo's scenarios and writes a report and a picture |
//! | `sheet` | wiring list, parameter sheet, fault list, signal list, messages, service identifiers |
//! | `papers` | all sheets, a database of the bus and a printable page, into one folder |
//! | `check` | reads scenario files and tells every error without running |
//! | `explain` | tells all that is declared under a name |
//! | `unit` | talks with a controller over its service port |
//! | `box` | goes through a black box that was read from a controller, forward and back |
//! | `replay` | plays a log of the real bus to this program, and shows the first tick that differs |
//! | `completions` | a completion script for a shell |
//!
//! Results go to the standard output, errors and progress to the error output. [`Outcome`] says the exit codes.

mod arguments;
mod black_box;
mod campaign;
mod check;
mod demo;
mod drives;
mod evidence;
mod examples;
mod explain;
mod hunt;
mod json;
mod list;
mod logs;
mod papers;
mod preview;
mod progress;
mod replay;
mod run;
mod selection;
mod serve;
mod sheet;
mod streams;
mod trouble;
mod unit;
mod verdicts;
mod whole_report;
mod work;

use std::ffi::OsString;
use std::process::ExitCode;

use crate::bench::Bench;

pub use streams::{Look, Streams};

use arguments::Verb;

/// What a command came to; its number is the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Outcome {
    /// All that was asked for was done, and every requirement held.
    AllHeld = 0,
    /// A requirement did not hold, or host and firmware differ, or a replay and what was recorded.
    Failed = 1,
    /// A hunt found a story that violates a requirement.
    Found = 3,
    /// The command makes no sense, an input could not be read, or something that was asked for is not installed.
    Refused = 2,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> Self {
        Self::from(outcome as u8)
    }
}

/// The desk program of a machine, on the process's own arguments and streams.
pub fn main<B: Bench>() -> ExitCode {
    let (mut out, mut errors) = (std::io::stdout().lock(), std::io::stderr());
    let mut streams = Streams { out: &mut out, errors: &mut errors, look: Look::of_terminal() };
    run_with::<B>(std::env::args_os().skip(1), &mut streams).into()
}

/// The desk program of a machine on given arguments, without the program's name, and given streams.
pub fn run_with<B: Bench>(
    arguments: impl IntoIterator<Item = impl Into<OsString> + Clone>,
    streams: &mut Streams<'_>,
) -> Outcome {
    let verb = match arguments::parse::<B>(arguments) {
        Ok(verb) => verb,
        Err(refusal) => return streams.show_usage(&refusal),
    };
    let result = match verb {
        Verb::List(list) => list::list::<B>(&list, streams),
        Verb::Run(run) => run::run::<B>(&run, streams),
        Verb::Demo(demo) => demo::demo::<B>(&demo, streams),
        Verb::Sheet(sheet) => sheet::sheet::<B>(&sheet, streams),
        Verb::Papers(papers) => papers::papers::<B>(&papers, streams),
        Verb::Unit(arguments) => unit::unit::<B>(&arguments, streams),
        Verb::Box(arguments) => black_box::black_box::<B>(&arguments, streams),
        Verb::Replay(arguments) => replay::replay::<B>(&arguments, streams),
        Verb::Check(check) => check::check::<B>(&check, streams),
        Verb::Explain(explain) => explain::explain::<B>(&explain, streams),
        Verb::Campaign(arguments) => campaign::campaign::<B>(&arguments, streams),
        Verb::Preview(arguments) => preview::preview::<B>(&arguments, streams),
        Verb::Evidence(arguments) => evidence::evidence::<B>(&arguments, streams),
        Verb::Serve(arguments) => serve::serve::<B>(&arguments, streams),
        Verb::Hunt(arguments) => hunt::hunt::<B>(&arguments, streams),
        Verb::Completions(completions) => arguments::completions::<B>(&completions, streams),
    };
    result.unwrap_or_else(|trouble| streams.complain(&trouble))
}
