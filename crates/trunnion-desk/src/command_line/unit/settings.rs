//! Writing, saving and restoring parameters.

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;
use trunnion::declare::ParameterSet;
use trunnion::machine::Machine;
use trunnion_service::level::Level;
use trunnion_service::served::Identification;

use super::consequences::{Leave, PreviewOptions, weigh};
use super::{Desk, write_json};
use crate::bench::Bench;
use crate::command_line::trouble::Trouble;
use crate::command_line::{Outcome, Streams};
use crate::tester::settings::{Setting, differing, parse, setting, written};
use crate::tester::unit::level_for;
use crate::tester::values::Scale;

#[derive(Debug, Args)]
pub(super) struct SetArguments {
    /// 'NAME = VALUE' with its unit, each as one word: 'neutral_hold = 200 ms'.
    #[arg(value_name = "SETTING", required = true)]
    settings: Vec<String>,
    #[command(flatten)]
    preview: PreviewOptions,
}

#[derive(Debug, Args)]
pub(super) struct SaveArguments {
    /// File to write.
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

#[derive(Debug, Args)]
pub(super) struct RestoreArguments {
    /// File that `save` wrote, or a part of one.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Write what is shown; without it nothing is written.
    #[arg(long)]
    yes: bool,
    #[command(flatten)]
    preview: PreviewOptions,
}

/// Writes what was typed.
pub(super) fn set<B: Bench>(
    arguments: &SetArguments,
    desk: &mut Desk<B::Machine>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let settings: Vec<Setting> = arguments
        .settings
        .iter()
        .map(|typed| setting::<<B::Machine as Machine>::Parameters>(typed))
        .collect::<Result<_, _>>()
        .map_err(|what| Trouble::with_help(what, "see `sheet parameters` for names, units and ranges"))?;
    let order = Order { preview: &arguments.preview, file: None, write: true };
    apply::<B>(&settings, &order, desk, streams)
}

/// Saves all that is in effect.
pub(super) fn save<B: Bench>(
    arguments: &SaveArguments,
    desk: &mut Desk<B::Machine>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let set = desk.unit.parameters()?;
    let version = desk.unit.identification(Identification::ProgramVersion)?;
    let serial = desk.unit.identification(Identification::SerialNumber)?;
    let heading = format!("{}\nprogram {version}, serial number {serial}", B::TITLE);
    fs::write(&arguments.file, written(&heading, &set))
        .map_err(|error| Trouble::unwritable(&arguments.file, &error))?;
    let count = <B::Machine as Machine>::Parameters::RULES.len();
    writeln!(streams.out, "{count} parameters are in {}", arguments.file.display())?;
    Ok(Outcome::AllHeld)
}

/// Shows what a file would change, and writes it.
pub(super) fn restore<B: Bench>(
    arguments: &RestoreArguments,
    desk: &mut Desk<B::Machine>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let text =
        fs::read_to_string(&arguments.file).map_err(|error| Trouble::unreadable(&arguments.file, &error))?;
    let settings = parse::<<B::Machine as Machine>::Parameters>(&text).map_err(|flaws| {
        let told = flaws.iter().map(|flaw| {
            miette::miette!(
                help = "nothing was written; mend the line, or take it out",
                "{}, line {}: {}",
                arguments.file.display(),
                flaw.line,
                flaw.what
            )
        });
        Trouble::Told(told.collect())
    })?;
    let order = Order { preview: &arguments.preview, file: Some(&arguments.file), write: arguments.yes };
    apply::<B>(&settings, &order, desk, streams)
}

/// How settings are applied.
struct Order<'a> {
    preview: &'a PreviewOptions,
    /// The file that they come from.
    file: Option<&'a Path>,
    /// Else only shown.
    write: bool,
}

/// Shows the difference and what it does, and writes it, all or nothing; then reads it back.
fn apply<B: Bench>(
    settings: &[Setting],
    order: &Order<'_>,
    desk: &mut Desk<B::Machine>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let now = desk.unit.parameters()?;
    let changes = differing(settings, &now);
    show_changes(&changes, &now, desk.json, streams)?;
    if changes.is_empty() {
        return Ok(Outcome::AllHeld);
    }
    let mut level = level_for::<<B::Machine as Machine>::Parameters>(&changes)?;
    if order.write {
        // A wrong key is told before the runs, which take seconds.
        desk.unlock(level)?;
        desk.unit.leave()?;
    }
    match weigh::<B>(order.preview, order.file, &changes, desk, streams)? {
        Leave::Given => {}
        Leave::AgainstRequirements => level = Level::Safety,
        Leave::Refused => return Ok(Outcome::Failed),
    }
    if !order.write {
        writeln!(streams.errors, "nothing was written: add --yes to write these {} values", changes.len())?;
        return Ok(Outcome::AllHeld);
    }
    desk.unlock(level)?;
    desk.unit.write(&changes)?;
    let after = desk.unit.parameters()?;
    desk.unit.leave()?;
    let missing = differing(&changes, &after).len();
    if missing > 0 {
        let what = format!("{missing} of {} values do not read back as written", changes.len());
        return Err(Trouble::with_help(what, "read them with `unit show`, and do not let the machine work"));
    }
    writeln!(streams.errors, "{} values were written and read back", changes.len())?;
    Ok(Outcome::AllHeld)
}

fn show_changes<P: ParameterSet>(
    changes: &[Setting],
    now: &P,
    as_json: bool,
    streams: &mut Streams<'_>,
) -> Result<(), Trouble> {
    let rows = changes.iter().filter_map(|change| {
        let info = P::INFO.get(usize::from(change.place))?;
        let scale = Scale::from(info);
        Some((info.name, scale.shown(now.raw(change.place).into()), scale.shown(change.raw.into())))
    });
    if as_json {
        let told = rows.map(|(name, now, then)| json!({ "name": name, "now": now, "then": then }));
        return write_json(&told.collect(), streams);
    }
    if changes.is_empty() {
        return Ok(writeln!(streams.out, "nothing differs")?);
    }
    for (name, now, then) in rows {
        writeln!(streams.out, "{name:<28} {now:>14}  →  {then}")?;
    }
    Ok(())
}
