//! From what the rig recorded to what the report shows.

mod faults;
mod marks;
mod path;
mod why_not;

pub(crate) use why_not::reasons;

use trunnion::machine::Machine;
use trunnion_rig::requirement::Verdict;
use trunnion_rig::run::{RequirementResult, Run};
use trunnion_rig::scenario::Scenario;
use trunnion_rig::trace::ColumnKind;

use crate::bench::Bench;
use crate::report::{self, Column, LogLine, Parity, PlotGroup, RunReport};

/// A run as the report shows it. All columns of the trace come along, but faults that were never active.
pub fn run_report<B: Bench>(run: Run, scenario: &Scenario, parity: Parity) -> RunReport {
    let plots = B::plots();
    let time = run.trace.time();
    let path = B::PATH.and_then(|columns| path::path(&columns, &run.trace, marks::marks(scenario)));
    let why_not = B::GROUPS.iter().flat_map(|group| why_not::spans(group, &run.trace, &time)).collect();
    let faults = faults::events::<<B::Machine as Machine>::Faults>(&run.trace, &time, B::REACTIONS);
    RunReport {
        title: run.title,
        about: run.about,
        duration: run.trace.period * run.trace.rows() as f64,
        hash: run.hash.to_string(),
        parity,
        requirements: run.results.into_iter().map(|result| requirement::<B>(result)).collect(),
        faults,
        why_not,
        time,
        columns: columns(run.trace.columns, &plots),
        plots,
        path,
        log: run.events.into_iter().map(|event| scenario_line(event.at, event.text)).collect(),
    }
}

fn scenario_line(at: f64, text: String) -> LogLine {
    LogLine { at: Some(at), source: "scenario".into(), text }
}

fn requirement<B: Bench>(result: RequirementResult) -> report::Requirement {
    report::Requirement {
        hazard: hazard(&result.hazard, B::HAZARDS),
        id: result.id,
        sentence: result.sentence,
        verdict: match result.verdict {
            Verdict::Held => report::Verdict::Held,
            Verdict::Violated => report::Verdict::Violated,
            Verdict::Inconclusive => report::Verdict::Inconclusive,
        },
        margin: result.margin,
        unit: result.unit,
        // A yes/no condition that held has no moment worth a look.
        at: result.at.filter(|_| result.margin.is_some() || result.verdict != Verdict::Held),
        explanation: result.explanation,
    }
}

/// The hazard with its text, where a requirement names it by its identifier only.
fn hazard(named: &str, hazards: &[(&str, &str)]) -> String {
    match hazards.iter().find(|(id, _)| *id == named) {
        Some((id, text)) => format!("{id} {text}"),
        None => named.to_owned(),
    }
}

fn columns(recorded: Vec<trunnion_rig::trace::Column>, plots: &[PlotGroup]) -> Vec<Column> {
    let drawn = |name: &str| {
        plots
            .iter()
            .flat_map(|group| &group.lanes)
            .flat_map(|lane| &lane.series)
            .any(|line| line.column == name)
    };
    let quiet = |column: &trunnion_rig::trace::Column| {
        column.info.kind == ColumnKind::Fault && column.values.iter().all(|value| *value == 0.0)
    };
    recorded
        .into_iter()
        .filter(|column| !quiet(column) || drawn(&column.info.name))
        .map(|column| Column {
            name: column.info.name,
            unit: column.info.unit,
            doc: column.info.doc,
            values: column.values,
            choices: column.info.choices,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hazard_that_is_declared_is_told_with_its_text_and_another_as_it_is() {
        let hazards = [("H-01", "It moves unasked")];
        assert_eq!(hazard("H-01", &hazards), "H-01 It moves unasked");
        assert_eq!(hazard("run over", &hazards), "run over");
    }
}
