//! The verb `papers`.

use std::fs;

use trunnion::machine::Machine;

use super::arguments::PapersArguments;
use super::selection::BenchRig;
use super::streams::Tone;
use super::trouble::Trouble;
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::sheets::{
    Format, PAPERS_CAUTIONS, Sheet, Subject, database, fault_list, identifier_list, memory_list,
    message_list, parameter_sheet, printable, signal_list, wiring_list,
};

/// Every sheet of a machine: name of its files, and content.
fn sheets<B: Bench>() -> Result<Vec<(&'static str, Sheet)>, Trouble> {
    let parameters = <B::Machine as Machine>::Parameters::default();
    Ok(vec![
        ("wiring", wiring_list::<B::Machine>(B::PORTS)),
        ("parameters", parameter_sheet::<<B::Machine as Machine>::Parameters>()),
        ("faults", fault_list::<<B::Machine as Machine>::Faults>(B::REACTIONS)),
        ("messages", message_list(B::MESSAGES, &parameters)),
        ("identifiers", identifier_list::<B::Machine>(B::MOTIONS, B::BLACK_BOX.is_some())),
        ("memory", memory_list::<B::Machine>(B::BLACK_BOX.as_ref().map(|black_box| &black_box.memory))),
        ("signals", signal_list(BenchRig::<B>::new(B::REQUIREMENTS)?.columns())),
    ])
}

/// Writes the papers and says which.
pub(super) fn papers<B: Bench>(
    arguments: &PapersArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let named = sheets::<B>()?;
    let mut files: Vec<(String, String, usize)> = Vec::new();
    for (name, sheet) in &named {
        files.push((format!("{name}.csv"), sheet.write(Format::Csv), sheet.rows.len()));
        files.push((format!("{name}.md"), sheet.write(Format::Markdown), sheet.rows.len()));
    }
    let parameters = <B::Machine as Machine>::Parameters::default();
    let bus = database(B::TITLE, B::MESSAGES, &parameters);
    files.push((format!("{}.dbc", B::NAME), bus, B::MESSAGES.len()));
    let subject = Subject {
        kind: "Papers of the controller",
        standing: PAPERS_CAUTIONS,
        title: B::TITLE,
        about: B::ABOUT,
        version: B::VERSION,
        cautions: B::CAUTIONS,
    };
    let all: Vec<Sheet> = named.into_iter().map(|(_, sheet)| sheet).collect();
    let page = printable(&subject, &all);
    files.push((format!("{}.html", B::NAME), page, all.len()));
    fs::create_dir_all(&arguments.out).map_err(|error| Trouble::unwritable(&arguments.out, &error))?;
    for (name, text, rows) in &files {
        let path = arguments.out.join(name);
        fs::write(&path, text).map_err(|error| Trouble::unwritable(&path, &error))?;
        let what = match name.rsplit('.').next() {
            Some("dbc") => format!("{rows} messages"),
            Some("html") => format!("{rows} sheets, to be printed"),
            _ => format!("{rows} rows"),
        };
        writeln!(streams.out, "{}  {}", path.display(), streams.look.toned(Tone::Quiet, what))?;
    }
    Ok(Outcome::AllHeld)
}
