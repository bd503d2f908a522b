//! The verb `list`.

use trunnion_rig::run::{ActionInfo, BreakInfo, Plant, Way};

use super::arguments::{ListArguments, Listed};
use super::selection::{self, BenchRig};
use super::streams::Tone;
use super::trouble::Trouble;
use super::{Outcome, Streams};
use crate::bench::Bench;

/// Says what there is.
pub(super) fn list<B: Bench>(
    arguments: &ListArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let all = [Listed::Scenarios, Listed::Requirements, Listed::Controls, Listed::Breaks];
    let wanted = if arguments.what.is_empty() { &all[..] } else { &arguments.what };
    for (place, what) in wanted.iter().enumerate() {
        if place > 0 {
            writeln!(streams.out)?;
        }
        match what {
            Listed::Scenarios => section(streams, "Scenarios", &scenarios::<B>()?)?,
            Listed::Requirements => section(streams, "Requirements of every run", &requirements::<B>())?,
            Listed::Controls => section(streams, "Controls", &controls(B::Plant::ACTIONS))?,
            Listed::Breaks => section(streams, "What can break", &breaks::<B>())?,
            Listed::Columns => section(streams, "Columns", &columns::<B>()?)?,
        }
    }
    if arguments.what.is_empty() {
        let count = BenchRig::<B>::new(B::REQUIREMENTS)?.columns().len();
        writeln!(streams.out, "\n{count} columns are recorded: `{} list columns` names them.", B::NAME)?;
    }
    Ok(Outcome::AllHeld)
}

/// A name and what it is.
type Entry = (String, String);

/// Names in one column, texts wrapped beside them.
fn section(streams: &mut Streams<'_>, title: &str, entries: &[Entry]) -> Result<(), Trouble> {
    const WIDEST: usize = 32;
    let look = streams.look;
    writeln!(streams.out, "{}", look.toned(Tone::Heading, title))?;
    let widths = entries.iter().map(|(name, _)| name.chars().count());
    let width = widths.filter(|width| *width <= WIDEST).max().unwrap_or(0);
    for (name, text) in entries {
        let told = look.wrapped(text, width + 4);
        if name.chars().count() > width {
            writeln!(streams.out, "  {name}\n  {:width$}  {told}", "")?;
        } else {
            writeln!(streams.out, "  {name:width$}  {told}")?;
        }
    }
    Ok(())
}

fn scenarios<B: Bench>() -> Result<Vec<Entry>, Trouble> {
    let names: Vec<&str> = B::SCENARIOS.iter().map(|(name, _)| *name).collect();
    let entry = |job: selection::Job| {
        let length = &job.scenario.length;
        (job.name, format!("{} ({length}). {}", job.scenario.title, job.scenario.about))
    };
    Ok(selection::all_of::<B>(&names)?.into_iter().map(entry).collect())
}

fn requirements<B: Bench>() -> Vec<Entry> {
    let hazard = |requirement: &trunnion_rig::requirement::Requirement| match requirement.hazard {
        "" => String::new(),
        hazard => format!(" ({hazard})"),
    };
    B::REQUIREMENTS
        .iter()
        .map(|requirement| {
            (requirement.id.to_owned(), format!("{}{}", requirement.sentence, hazard(requirement)))
        })
        .collect()
}

fn controls(actions: &[ActionInfo]) -> Vec<Entry> {
    actions
        .iter()
        .map(|action| (action.name.to_owned(), format!("{} {}", action.doc, range(action))))
        .collect()
}

/// What an action can be put to.
pub(super) fn range(action: &ActionInfo) -> String {
    let ActionInfo { low, high, rest, unit, choices, .. } = action;
    if choices.is_empty() {
        format!("{low} to {high} {unit}, at rest {rest} {unit}").replace(" ,", ",").trim_end().to_owned()
    } else {
        let rest = choices.get(*rest as usize).unwrap_or(&"");
        format!("{}; at rest {rest}", choices.join(", "))
    }
}

fn breaks<B: Bench>() -> Vec<Entry> {
    let names = |info: &BreakInfo| info.ways().map(Way::name).collect::<Vec<_>>().join(", ");
    B::Plant::BREAKS
        .iter()
        .map(|info| (info.signal.to_owned(), format!("{} Breaks as: {}", info.doc, names(info))))
        .collect()
}

fn columns<B: Bench>() -> Result<Vec<Entry>, Trouble> {
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let entry = |column: &trunnion_rig::trace::ColumnInfo| {
        let unit = match (column.unit.as_str(), column.choices.as_slice()) {
            ("", []) => String::new(),
            ("", choices) => format!(" ({})", choices.join(", ")),
            (unit, _) => format!(" ({unit})"),
        };
        (column.name.clone(), format!("{}{unit}", column.doc))
    };
    Ok(rig.columns().iter().map(entry).collect())
}
