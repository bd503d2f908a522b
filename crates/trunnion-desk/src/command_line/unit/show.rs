//! Who it is, and its values.

use clap::Args;
use serde_json::{Map, Value, json};
use trunnion::declare::{ParameterSet, Record};
use trunnion::machine::Machine;
use trunnion_service::served::Identification;

use super::{Desk, write_json};
use crate::command_line::trouble::Trouble;
use crate::command_line::{Outcome, Streams};
use crate::tester::settings::nearest;
use crate::tester::values::Scale;

#[derive(Debug, Args)]
pub(super) struct ShowArguments {
    /// Names, or parts of names, of parameters and signals; all when left out.
    #[arg(value_name = "NAME")]
    names: Vec<String>,
}

/// Says which unit this is.
pub(super) fn who<M: Machine>(desk: &mut Desk<M>, streams: &mut Streams<'_>) -> Result<Outcome, Trouble> {
    let mut said = Map::new();
    for (name, what) in [
        ("machine", Identification::MachineName),
        ("program", Identification::ProgramNumber),
        ("version", Identification::ProgramVersion),
        ("serial number", Identification::SerialNumber),
    ] {
        let text = desk.unit.identification(what)?;
        if !desk.json {
            writeln!(streams.out, "{name:<14} {}", if text.is_empty() { "not told" } else { &text })?;
        }
        said.insert(name.replace(' ', "_"), text.into());
    }
    if desk.json {
        write_json(&said.into(), streams)?;
    }
    Ok(Outcome::AllHeld)
}

/// What is shown of one value.
struct Row {
    name: &'static str,
    kind: &'static str,
    scale: Scale,
    raw: i64,
    doc: &'static str,
}

/// Shows values by name.
pub(super) fn show<M: Machine>(
    arguments: &ShowArguments,
    desk: &mut Desk<M>,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let wanted = |name: &str| {
        arguments.names.is_empty() || arguments.names.iter().any(|part| name.contains(part.as_str()))
    };
    let all = || {
        let parameters = M::Parameters::INFO.iter().map(|info| info.name);
        parameters.chain(M::Diagnostics::FIELDS.iter().map(|field| field.name))
    };
    if let Some(unknown) = arguments.names.iter().find(|part| !all().any(|name| name.contains(part.as_str())))
    {
        let what = format!("no parameter and no signal is called `{unknown}`; {}", nearest(unknown, all()));
        return Err(Trouble::with_help(what, "see `sheet identifiers` for all of them"));
    }
    let mut rows = Vec::new();
    if M::Parameters::INFO.iter().any(|info| wanted(info.name)) {
        let set = desk.unit.parameters()?;
        for (place, info) in (0..).zip(M::Parameters::INFO).filter(|(_, info)| wanted(info.name)) {
            let (scale, raw) = (Scale::from(info), set.raw(place).into());
            rows.push(Row { name: info.name, kind: "parameter", scale, raw, doc: info.doc });
        }
    }
    let fields = M::Diagnostics::FIELDS;
    let places: Vec<u16> =
        (0..).zip(fields).filter(|(_, field)| wanted(field.name)).map(|(place, _)| place).collect();
    for (place, raw) in desk.unit.signals(&places)? {
        let Some(field) = fields.get(usize::from(place)) else { continue };
        rows.push(Row { name: field.name, kind: "signal", scale: field.into(), raw, doc: field.doc });
    }
    told(&rows, desk.json, streams)?;
    Ok(Outcome::AllHeld)
}

fn told(rows: &[Row], as_json: bool, streams: &mut Streams<'_>) -> Result<(), Trouble> {
    if as_json {
        let told = rows.iter().map(|row| {
            let value: Value = if row.scale.choices.is_empty() {
                row.scale.value(row.raw).into()
            } else {
                row.scale.shown(row.raw).into()
            };
            json!({ "name": row.name, "kind": row.kind, "value": value, "unit": row.scale.unit, "raw": row.raw })
        });
        return write_json(&told.collect(), streams);
    }
    let width = rows.iter().map(|row| row.name.len()).max().unwrap_or(0);
    for row in rows {
        let value = row.scale.shown(row.raw);
        writeln!(streams.out, "{:<width$}  {value:>14}  {}", row.name, row.doc.trim())?;
    }
    Ok(())
}
