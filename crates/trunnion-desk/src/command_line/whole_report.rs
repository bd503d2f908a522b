//! The report of several runs, with what it was made from.

use std::fs;
use std::path::Path;

use sha2::{Digest, Sha256};
use trunnion::declare::ParameterSet;
use trunnion::machine::Machine;
use trunnion_board::layout::layout;

use super::trouble::Trouble;
use crate::bench::Bench;
use crate::report::{self, Comparison, Fact, Parity, ReportData, RunReport, Table};
use crate::sheets::{Sheet, fault_list, parameter_sheet, wiring_list};

/// Puts runs, comparisons, tables and provenance together.
pub(super) fn whole<B: Bench>(
    title: &str,
    about: &str,
    runs: Vec<RunReport>,
    comparisons: Vec<Comparison>,
    image: Option<&Path>,
) -> ReportData {
    let parity = overall(&runs);
    ReportData {
        machine: B::TITLE.to_owned(),
        title: title.to_owned(),
        about: format!("{} {about}", B::ABOUT),
        provenance: provenance::<B>(image),
        tables: tables::<B>(&runs),
        cautions: B::CAUTIONS.iter().map(|caution| (*caution).to_owned()).collect(),
        runs,
        comparisons,
        parity,
        log: Vec::new(),
    }
}

/// Writes the page to a file, and the folders that lead there.
pub(super) fn write(path: &Path, data: &ReportData) -> Result<(), Trouble> {
    let page = report::html(data).map_err(wrong_names)?;
    write_file(path, &page)
}

pub(super) fn write_file(path: &Path, text: &str) -> Result<(), Trouble> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
    folder
        .map_or(Ok(()), fs::create_dir_all)
        .and_then(|()| fs::write(path, text))
        .map_err(|error| Trouble::unwritable(path, &error))
}

pub(super) fn wrong_names(error: report::ReportError) -> Trouble {
    Trouble::with_help(
        format!("the report cannot be drawn: {error}"),
        "correct the machine's plots; `list columns` names what is recorded",
    )
}

/// Whether the firmware agreed in all runs; the first that differs is told.
fn overall(runs: &[RunReport]) -> Parity {
    let mut equal: Option<(String, u64)> = None;
    for run in runs {
        match &run.parity {
            Parity::Differs { controller, first } => {
                return Parity::Differs {
                    controller: controller.clone(),
                    first: format!("{}: {first}", run.title),
                };
            }
            Parity::Skipped(why) => return Parity::Skipped(why.clone()),
            Parity::NotCompared => return Parity::NotCompared,
            Parity::BitForBit { controller, ticks } => {
                let before = equal.take().map_or(0, |(_, ticks)| ticks);
                equal = Some((controller.clone(), before + ticks));
            }
        }
    }
    equal.map_or(Parity::NotCompared, |(controller, ticks)| Parity::BitForBit { controller, ticks })
}

fn provenance<B: Bench>(image: Option<&Path>) -> Vec<Fact> {
    let period = f64::from(B::Machine::PERIOD.micros()) / 1e3;
    let mut facts = vec![
        Fact::new("Program", format!("{} {}", B::NAME, B::VERSION)),
        Fact::new("Desk", format!("{} {}", env!("CARGO_PKG_NAME"), env!("CARGO_PKG_VERSION"))),
        Fact::new("Compiler of the host program", env!("TRUNNION_COMPILER")),
        Fact::new(
            "Control period",
            format!("{period} ms, {} steps of the fast loop in each", B::Machine::FAST_STEPS),
        ),
        Fact::new(
            "Declaration (signals and parameters)",
            format!("{:016x}", const { layout::<B::Machine>() }),
        ),
        Fact::new("Default parameters (SHA-256)", parameter_hash::<<B::Machine as Machine>::Parameters>()),
    ];
    if let Some(bytes) = image.and_then(|image| fs::read(image).ok()) {
        facts.push(Fact::new("Firmware image (SHA-256)", hexadecimal(&Sha256::digest(bytes))));
    }
    facts
}

fn parameter_hash<P: ParameterSet>() -> String {
    let mut hasher = Sha256::new();
    for rule in P::RULES {
        hasher.update(rule.id.to_le_bytes());
        hasher.update(rule.default.to_le_bytes());
    }
    hexadecimal(&hasher.finalize())
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

fn tables<B: Bench>(runs: &[RunReport]) -> Vec<Table> {
    let hazards = B::HAZARDS.iter().map(|(id, text)| vec![(*id).to_owned(), (*text).to_owned()]);
    vec![
        Table {
            title: "Hazards".into(),
            caption: "What the requirements answer. A machine's own risk assessment decides.".into(),
            head: vec!["hazard".into(), "what happens".into()],
            rows: hazards.collect(),
        },
        table(wiring_list::<B::Machine>(B::PORTS), "Every pin, what it carries, and how it can fail."),
        table(
            parameter_sheet::<<B::Machine as Machine>::Parameters>(),
            "As delivered; scenarios say what they change.",
        ),
        table(
            fault_list::<<B::Machine as Machine>::Faults>(B::REACTIONS),
            "What is detected, after how long, and what the machine does about it.",
        ),
        Table {
            title: "Traces".into(),
            caption:
                "The same program and seed give the same hash on every computer, and on the firmware's board."
                    .into(),
            head: vec!["run".into(), "seconds".into(), "SHA-256 of the trace".into()],
            rows: runs
                .iter()
                .map(|run| vec![run.title.clone(), run.duration.to_string(), run.hash.clone()])
                .collect(),
        },
    ]
}

fn table(sheet: Sheet, caption: &str) -> Table {
    Table {
        title: sheet.title,
        caption: caption.to_owned(),
        head: sheet.heading.iter().map(|head| (*head).to_owned()).collect(),
        rows: sheet.rows,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(parity: Parity) -> RunReport {
        RunReport { title: "A".into(), parity, ..RunReport::default() }
    }

    fn equal(ticks: u64) -> RunReport {
        run(Parity::BitForBit { controller: "board".into(), ticks })
    }

    #[test]
    fn ticks_of_equal_runs_add_up() {
        let parity = overall(&[equal(3), equal(4)]);
        assert!(matches!(parity, Parity::BitForBit { ticks: 7, .. }), "{parity:?}");
    }

    #[test]
    fn one_run_that_differs_or_was_not_compared_takes_the_claim_away() {
        let differs = run(Parity::Differs { controller: "board".into(), first: "tick 3".into() });
        let parity = overall(&[equal(3), differs]);
        assert!(matches!(&parity, Parity::Differs { first, .. } if first == "A: tick 3"), "{parity:?}");
        assert!(matches!(overall(&[equal(3), run(Parity::NotCompared)]), Parity::NotCompared));
        assert!(matches!(overall(&[run(Parity::Skipped("no QEMU".into())), equal(1)]), Parity::Skipped(_)));
    }
}
