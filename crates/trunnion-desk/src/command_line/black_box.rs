//! The verb `box`: through a black box that was read from a controller.

mod period;
mod walk;

use std::fs::{self, File};
use std::io::BufRead;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};
use trunnion::declare::FaultSet;
use trunnion::machine::Machine;

use super::streams::Tone;
use super::trouble::Trouble;
use super::unit::black_box::cause;
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::black_box::{OpenedBox, refusal, told};
use crate::trace_file;
use period::Shown;
use walk::Walk;

#[derive(Debug, Args)]
pub(super) struct BoxArguments {
    /// File that `unit box --to FILE` has written.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Show this period, the first is 0; the one of the fault when left out. May be given several times.
    #[arg(long, value_name = "PERIOD")]
    at: Vec<usize>,
    /// Step forward and back by hand: type ? for how.
    #[arg(long)]
    step: bool,
    /// Write all periods as a table.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Write the box as a scenario for the simulated machine: hands, switches, and what broke.
    #[arg(long, value_name = "FILE")]
    scenario: Option<PathBuf>,
    /// What happened and the periods that were asked for as JSON.
    #[arg(long)]
    json: bool,
}

/// Replays a box and shows what led to its fault.
pub(super) fn black_box<B: Bench>(
    arguments: &BoxArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let Some(black_box) = B::BLACK_BOX else {
        return Err(Trouble::with_help(format!("the {} keeps no black box", B::NAME), "see `unit faults`"));
    };
    let bytes = fs::read(&arguments.file).map_err(|error| Trouble::unreadable(&arguments.file, &error))?;
    let opened = (black_box.open)(&bytes).map_err(|reason| {
        let (what, help) = refusal(reason);
        Trouble::with_help(format!("{}: {what}", arguments.file.display()), help)
    })?;
    let shown = Shown::<B>::new(&opened);
    let last = opened.periods.len().saturating_sub(1);
    if let Some(outside) = arguments.at.iter().find(|at| **at > last) {
        let what = format!("the box has no period {outside}");
        return Err(Trouble::with_help(what, format!("its periods are 0 to {last}")));
    }
    let deciding = opened.fault_period().unwrap_or(last).min(last);
    let asked = if arguments.at.is_empty() { vec![deciding] } else { arguments.at.clone() };
    if let Some(file) = &arguments.csv {
        let written = File::create(file).and_then(|out| trace_file::write_csv(shown.trace(), out));
        written.map_err(|error| Trouble::unwritable(file, &error))?;
    }
    if let Some(file) = &arguments.scenario {
        write_scenario::<B>(&opened, &arguments.file, file)?;
    }
    if arguments.json {
        let told = as_json::<B>(&opened, &shown, &asked);
        writeln!(streams.out, "{told:#}")?;
    } else {
        summary::<B>(&opened, &shown, streams)?;
        for at in asked {
            shown.write(at, streams)?;
        }
    }
    if arguments.step {
        step(&shown, deciding, streams)?;
    }
    Ok(if opened.first_other().is_none() && opened.damaged_at.is_none() {
        Outcome::AllHeld
    } else {
        Outcome::Failed
    })
}

fn write_scenario<B: Bench>(opened: &OpenedBox<B::Machine>, from: &Path, file: &Path) -> Result<(), Trouble> {
    let name = from.file_stem().unwrap_or_default().to_string_lossy();
    let text = told::<B>(opened, &name).ok_or_else(|| {
        Trouble::with_help(
            format!("the {} does not tell its boxes as scenarios", B::NAME),
            "leave --scenario out",
        )
    })?;
    fs::write(file, text).map_err(|error| Trouble::unwritable(file, &error))
}

fn summary<B: Bench>(
    opened: &OpenedBox<B::Machine>,
    shown: &Shown<'_, B>,
    streams: &mut Streams<'_>,
) -> Result<(), Trouble> {
    let count = opened.periods.len();
    let title = streams.look.toned(Tone::Heading, B::TITLE);
    writeln!(streams.out, "{title}: black box frozen {}", cause::<B>(&opened.header))?;
    let seconds = shown.seconds(count);
    writeln!(streams.out, "  {count} periods of {} µs, {seconds:.2} s", opened.header.period_micros)?;
    let (tone, told) = match (opened.damaged_at, opened.first_other()) {
        (Some(at), _) => (Tone::Bad, format!("damaged from period {at} on: read it again")),
        (None, Some(at)) => (
            Tone::Bad,
            format!(
                "this program drives something else from period {at} on: it is not what ran on the machine"
            ),
        ),
        (None, None) => {
            (Tone::Good, "this program drives what the machine's drove in every period".to_owned())
        }
    };
    writeln!(streams.out, "  {}", streams.look.toned(tone, &told))?;
    writeln!(streams.out, "What happened:")?;
    for (at, what) in shown.happened() {
        writeln!(streams.out, "  period {at:>5}  {:>8.2} s  {what}", shown.seconds(at))?;
    }
    Ok(())
}

fn as_json<B: Bench>(opened: &OpenedBox<B::Machine>, shown: &Shown<'_, B>, asked: &[usize]) -> Value {
    let happened = shown.happened();
    let faults: Vec<&str> = <B::Machine as Machine>::Faults::INFO.iter().map(|info| info.name).collect();
    json!({
        "machine": B::NAME,
        "cause": cause::<B>(&opened.header),
        "periods": opened.periods.len(),
        "period_micros": opened.header.period_micros,
        "fault_period": opened.fault_period(),
        "damaged_at": opened.damaged_at,
        "first_other": opened.first_other(),
        "happened": happened.iter().map(|(at, what)| json!({ "period": at, "what": what })).collect::<Value>(),
        "shown": asked.iter().map(|at| shown.as_json(*at, &faults)).collect::<Value>(),
    })
}

/// Goes where the lines of the standard input say, until they end.
fn step<B: Bench>(shown: &Shown<'_, B>, from: usize, streams: &mut Streams<'_>) -> Result<(), Trouble> {
    let changes: Vec<usize> = shown.happened().iter().map(|(at, _)| *at).collect();
    let mut walk = Walk::new(from, shown.periods(), from, changes);
    let mut lines = std::io::stdin().lock().lines();
    loop {
        write!(streams.out, "period {} of {} (? for help): ", walk.at(), shown.periods())?;
        streams.out.flush()?;
        let Some(line) = lines.next().transpose()? else {
            return Ok(writeln!(streams.out)?);
        };
        match walk.go(line.trim()) {
            Ok(true) => shown.write(walk.at(), streams)?,
            Ok(false) => return Ok(()),
            Err(told) => writeln!(streams.out, "{told}")?,
        }
    }
}
