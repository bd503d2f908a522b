//! The verb `replay`: a log of the real bus through this control program.

mod shown;

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::Value;
use trunnion::declare::ParameterSet;
use trunnion::machine::Machine;
use trunnion_can::layout::Direction;
use trunnion_rig::scenario::Scenario;

use super::logs;
use super::progress::Progress;
use super::selection::{self, BenchRig};
use super::trouble::Trouble;
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::replaying::{NoReplay, Question, Wires, replay as played};
use crate::scenarios;
use crate::tester::settings::{differing, nearest, parse as parse_settings, typed};
use shown::Shown;

/// What `serve` plays without a story, and what the wires are when nobody tells them.
pub(super) const AT_REST: &str = "at_rest";

#[derive(Debug, Args)]
pub(super) struct ReplayArguments {
    /// Log of the machine's bus in the format of candump -L: of `unit record`, `serve --record`, `run --log` or candump
    /// itself. It has to hold the start of the controller.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Let this story tell what the wires bring: a scenario's name or path, or at_rest. It begins with the controller's start.
    /// Without it nothing is known of the wires: all rest, and what follows from them is not compared.
    #[arg(long = "with", value_name = "SCENARIO")]
    story: Option<String>,
    /// Parameters of the unit, a file that `unit save` has written. As the story has them when left out.
    #[arg(long, value_name = "FILE")]
    settings: Option<PathBuf>,
    /// Another parameter: 'pivot_point = 400 ‰'. May be given several times.
    #[arg(long, value_name = "NAME = VALUE")]
    parameter: Vec<String>,
    /// Serial number of the unit; taken from the NAME that it claims with when left out.
    #[arg(long, value_name = "NUMBER")]
    serial: Option<u32>,
    /// Do not compare this message. May be given several times.
    #[arg(long, value_name = "MESSAGE")]
    without: Vec<String>,
    /// The bus of a log that holds several.
    #[arg(long, value_name = "NAME")]
    interface: Option<String>,
    /// Pass over so many seconds of the log: to a later start of the controller.
    #[arg(long, value_name = "SECONDS", default_value_t = 0.0)]
    from: f64,
    /// Periods by which a frame may be earlier or later.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    tolerance: u32,
    /// What was compared and the first difference as JSON.
    #[arg(long)]
    json: bool,
}

/// Plays a log and shows the first tick that differs.
pub(super) fn replay<B: Bench>(
    arguments: &ReplayArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let (lines, origin) = logs::from(
        logs::of_one_bus(
            &arguments.file,
            arguments.interface.as_deref(),
            "name the bus of the controller with --interface",
        )?,
        arguments.from,
    );
    let scenario = story::<B>(arguments)?;
    let rig = BenchRig::<B>::new(&[])?;
    let question = Question {
        lines: &lines,
        scenario: &scenario,
        wires: if arguments.story.is_some() { Wires::Told } else { Wires::Assumed },
        tolerance: arguments.tolerance,
        left_out: left_out::<B>(&arguments.without)?,
        serial: arguments.serial,
    };
    let progress = Progress::new(streams.look);
    let bar = progress.bar(&arguments.file.display().to_string());
    let period = f64::from(B::Machine::PERIOD.micros()) / 1e6;
    let told = played::<B>(&rig, &question, &mut |done, all| bar.tick(done, all, period));
    bar.finish();
    let told = told.map_err(|reason| refusal(reason, &arguments.file))?;
    let shown = Shown::<B> {
        told: &told,
        rig: &rig,
        file: &arguments.file,
        story: arguments.story.as_deref(),
        origin,
    };
    if arguments.json {
        let value: Value = shown.as_json();
        writeln!(streams.out, "{value:#}")?;
    } else {
        shown.write(streams)?;
    }
    Ok(if told.difference.is_none() { Outcome::AllHeld } else { Outcome::Failed })
}

pub(super) fn refusal(reason: NoReplay, file: &Path) -> Trouble {
    let help = match reason {
        NoReplay::Story(complaints) => return complaints.into(),
        NoReplay::NoBus => "it is for machines whose plant names a bus that others may join",
        NoReplay::Silent => "see whether the story feeds the controller, or lets the bus wires touch",
        NoReplay::NotHeard { .. } => {
            "give its address, --parameter 'controller_address = NUMBER' or --settings, or record the bus that it is on"
        }
        NoReplay::TooLong { .. } => {
            "cut the log: a drive of some minutes, with the controller's start, is enough"
        }
        NoReplay::NoStart { .. } => {
            "what state it was in when the log began nobody can know: record from before it is switched on, or make it start \
             anew while recording"
        }
    };
    Trouble::with_help(format!("{}: {reason}", file.display()), help)
}

/// What tells the wires, with the parameters of the unit.
fn story<B: Bench>(arguments: &ReplayArguments) -> Result<Scenario, Trouble> {
    let mut scenario = wires::<B>(arguments.story.as_deref().unwrap_or(AT_REST))?;
    if let Some(file) = &arguments.settings {
        for (name, value) in settings::<<B::Machine as Machine>::Parameters>(file)? {
            scenario = scenarios::with_parameter(&scenario, &name, &value)?;
        }
    }
    for setting in &arguments.parameter {
        let Some((name, value)) = setting.split_once('=') else {
            let help = "write --parameter 'NAME = VALUE' with its unit, as in a scenario";
            return Err(Trouble::with_help(format!("`{setting}` sets nothing"), help));
        };
        scenario = scenarios::with_parameter(&scenario, name.trim(), value.trim())?;
    }
    Ok(scenario)
}

/// A story that tells the wires: a scenario's name or path, or `at_rest`.
pub(super) fn wires<B: Bench>(name: &str) -> Result<Scenario, Trouble> {
    match name {
        AT_REST => Ok(Scenario::parse("at_rest.scenario", super::serve::AT_REST)?),
        name => Ok(selection::all_of::<B>(&[name])?.remove(0).scenario),
    }
}

/// What a file of `unit save` sets to another value than the declaration's.
fn settings<P: ParameterSet>(file: &Path) -> Result<Vec<(String, String)>, Trouble> {
    let text = fs::read_to_string(file).map_err(|error| Trouble::unreadable(file, &error))?;
    let settings = parse_settings::<P>(&text).map_err(|flaws| {
        let reports = flaws.into_iter().map(|flaw| {
            let what = format!("{}:{}: {}", file.display(), flaw.line, flaw.what);
            miette::miette!(help = "`unit save FILE` writes such a file", "{what}")
        });
        Trouble::Told(reports.collect())
    })?;
    Ok(typed::<P>(&differing(&settings, &P::default())))
}

/// The groups of messages that are left out by name.
fn left_out<B: Bench>(names: &[String]) -> Result<Vec<u32>, Trouble> {
    let sent = || B::MESSAGES.iter().filter(|row| row.direction == Direction::Sent);
    let group = |name: &String| {
        sent().find(|row| row.layout.name == *name).map(|row| row.layout.pgn).ok_or_else(|| {
            let known = nearest(name, sent().map(|row| row.layout.name));
            Trouble::with_help(
                format!("the controller sends no message `{name}`; {known}"),
                format!("see `{} sheet messages`", B::NAME),
            )
        })
    };
    names.iter().map(group).collect()
}
