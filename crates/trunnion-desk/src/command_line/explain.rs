//! The verb `explain`.

use trunnion::declare::{FaultSet, ParameterSet};
use trunnion::machine::Machine;
use trunnion_rig::language::{Complaint, Span};
use trunnion_rig::run::{Plant, Way};
use trunnion_rig::trace::ColumnInfo;

use super::arguments::ExplainArguments;
use super::list::range;
use super::selection::{self, BenchRig};
use super::streams::Tone;
use super::trouble::Trouble;
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::sheets::{Sheet, fault_list, kind, parameter_sheet, wiring_list};

/// Tells everything that is declared under a name.
pub(super) fn explain<B: Bench>(
    arguments: &ExplainArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let name = arguments.name.as_str();
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let mut found = Vec::new();
    found.extend(signals::<B>(rig.columns(), name));
    found.extend(row_of(&parameter_sheet::<<B::Machine as Machine>::Parameters>(), "parameter", name));
    let fault = fault_name::<<B::Machine as Machine>::Faults>(rig.columns(), name);
    found.extend(row_of(&fault_list::<<B::Machine as Machine>::Faults>(B::REACTIONS), "fault", &fault));
    found.extend(control::<B>(name));
    found.extend(breakable::<B>(name));
    found.extend(requirement::<B>(name));
    found.extend(hazard::<B>(name));
    found.extend(scenario::<B>(name)?);
    if found.is_empty() {
        let known = names::<B>(rig.columns());
        let complaint =
            Complaint::unknown(Span::default(), "thing called", name, known.iter().map(String::as_str));
        let what = format!("{}; {}", complaint.what, complaint.expected);
        return Err(Trouble::with_help(
            what,
            format!("see `{} list` and `{} list columns`", B::NAME, B::NAME),
        ));
    }
    for (place, told) in found.iter().enumerate() {
        if place > 0 {
            writeln!(streams.out)?;
        }
        told.write(streams)?;
    }
    Ok(Outcome::AllHeld)
}

/// What is said of a name: what it is, and lines of label and text.
struct Told {
    what: String,
    lines: Vec<(String, String)>,
}

impl Told {
    fn new(what: impl Into<String>, lines: &[(&str, &str)]) -> Self {
        let filled = lines.iter().filter(|(_, text)| !text.trim().is_empty());
        Self {
            what: what.into(),
            lines: filled.map(|(label, text)| ((*label).into(), (*text).into())).collect(),
        }
    }

    fn write(&self, streams: &mut Streams<'_>) -> Result<(), Trouble> {
        let look = streams.look;
        writeln!(streams.out, "{}", look.toned(Tone::Heading, &self.what))?;
        let width = self.lines.iter().map(|(label, _)| label.chars().count()).max().unwrap_or(0);
        for (label, text) in &self.lines {
            writeln!(streams.out, "  {label:width$}  {}", look.wrapped(text, width + 4))?;
        }
        Ok(())
    }
}

/// The row of a sheet in which the name stands, each cell under its heading.
fn row_of(sheet: &Sheet, column: &str, name: &str) -> Option<Told> {
    let place = sheet.heading.iter().position(|heading| *heading == column)?;
    let row = sheet.rows.iter().find(|row| row.get(place).is_some_and(|cell| cell == name))?;
    let cells: Vec<(&str, &str)> = sheet
        .heading
        .iter()
        .copied()
        .zip(row.iter().map(String::as_str))
        .filter(|(head, _)| *head != column)
        .collect();
    Some(Told::new(format!("{column} {name}"), &cells))
}

fn signals<B: Bench>(columns: &[ColumnInfo], name: &str) -> Vec<Told> {
    let Some(column) = columns.iter().find(|column| column.name == name) else { return Vec::new() };
    let number = |bound: Option<f64>| bound.map_or(String::new(), |bound| bound.to_string());
    let range = match column.choices.as_slice() {
        [] if column.low.is_some() => {
            format!("{} to {} {}", number(column.low), number(column.high), column.unit)
        }
        [] => column.unit.clone(),
        choices => choices.join(", "),
    };
    let told = Told::new(
        format!("signal {name}"),
        &[
            ("what", &column.doc),
            ("from", kind(column.kind)),
            ("range", &range),
            ("pin or place", &column.pin),
        ],
    );
    let wired = row_of(&wiring_list::<B::Machine>(B::PORTS), "signal", name);
    let wire = wired.map(|wired| Told { what: format!("wire of {name}"), ..wired });
    std::iter::once(told).chain(wire).collect()
}

/// The fault's name in the list, when its column was named.
fn fault_name<F: FaultSet>(columns: &[ColumnInfo], name: &str) -> String {
    let faults = columns.iter().filter(|column| column.kind == trunnion_rig::trace::ColumnKind::Fault);
    let named = faults.zip(F::INFO).find(|(column, _)| column.name == name);
    named.map_or(name, |(_, info)| info.name).to_owned()
}

fn control<B: Bench>(name: &str) -> Option<Told> {
    let action = B::Plant::ACTIONS.iter().find(|action| action.name == name)?;
    let example = match action.choices.last() {
        Some(choice) => format!("at 2 s {name} = {choice}"),
        None => format!("at 2 s {name} moves to {} {} over 0.5 s", action.high, action.unit),
    };
    let column = format!("set_{name}");
    let lines =
        [("what", action.doc), ("range", &range(action)), ("in a scenario", &example), ("column", &column)];
    Some(Told::new(format!("control {name}"), &lines))
}

fn breakable<B: Bench>(name: &str) -> Option<Told> {
    let info = B::Plant::BREAKS.iter().find(|info| info.signal == name)?;
    let failures: Vec<&str> = info.ways().map(Way::name).collect();
    let example = failures.first().map_or(String::new(), |failure| format!("at 2 s break {name}: {failure}"));
    let lines = [("what", info.doc), ("breaks as", &failures.join(", ")), ("in a scenario", &example)];
    Some(Told::new(format!("can break: {name}"), &lines))
}

fn requirement<B: Bench>(name: &str) -> Option<Told> {
    let requirement = B::REQUIREMENTS.iter().find(|requirement| requirement.id == name)?;
    let hazard = B::HAZARDS.iter().find(|(id, _)| *id == requirement.hazard);
    let hazard = hazard.map_or(requirement.hazard.to_owned(), |(id, text)| format!("{id} {text}"));
    let lines = [("asks", requirement.sentence), ("answers", &hazard), ("formula", requirement.formula)];
    Some(Told::new(format!("requirement {name}"), &lines))
}

fn hazard<B: Bench>(name: &str) -> Option<Told> {
    let (_, text) = B::HAZARDS.iter().find(|(id, _)| *id == name)?;
    let answers: Vec<&str> = B::REQUIREMENTS
        .iter()
        .filter(|requirement| requirement.hazard == name)
        .map(|requirement| requirement.id)
        .collect();
    Some(Told::new(format!("hazard {name}"), &[("what", text), ("answered by", &answers.join(", "))]))
}

fn scenario<B: Bench>(name: &str) -> Result<Option<Told>, Trouble> {
    if !B::SCENARIOS.iter().any(|(known, _)| *known == name) {
        return Ok(None);
    }
    let job = selection::all_of::<B>(&[name])?.remove(0);
    let scenario = job.scenario;
    let own: Vec<String> = scenario
        .requirements
        .iter()
        .map(|stated| format!("{} {}", stated.id.value, stated.sentence))
        .collect();
    let (length, requirements) = (scenario.length.to_string(), own.join("; "));
    let lines = [
        ("title", scenario.title.as_str()),
        ("about", &scenario.about),
        ("lasts", &length),
        ("requires", &requirements),
    ];
    Ok(Some(Told::new(format!("scenario {name}"), &lines)))
}

/// Every name that can be explained.
fn names<B: Bench>(columns: &[ColumnInfo]) -> Vec<String> {
    let mut names: Vec<String> = columns.iter().map(|column| column.name.clone()).collect();
    let mut add = |name: &str| names.push(name.to_owned());
    <B::Machine as Machine>::Parameters::INFO.iter().for_each(|info| add(info.name));
    <B::Machine as Machine>::Faults::INFO.iter().for_each(|info| add(info.name));
    B::Plant::ACTIONS.iter().for_each(|action| add(action.name));
    B::Plant::BREAKS.iter().for_each(|info| add(info.signal));
    B::REQUIREMENTS.iter().for_each(|requirement| add(requirement.id));
    B::HAZARDS.iter().for_each(|(id, _)| add(id));
    B::SCENARIOS.iter().for_each(|(name, _)| add(name));
    names
}
