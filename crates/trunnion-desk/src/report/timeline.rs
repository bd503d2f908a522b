//! The timeline of permissions and faults, as bands that any plot can draw.

use super::data::{FaultEvent, RunReport};
use super::plot_data::{Column, Lane, PlotGroup, Stroke};

/// Ground of the first reason, and of an active fault: never the one that says "given".
const WITHHELD: u8 = 1;
const ACTIVE: u8 = 3;

/// Columns that follow from the events of a run, and the lane that draws them.
#[derive(Debug, Clone, Default)]
pub(super) struct Timeline {
    /// One column per function group and per fault.
    pub(super) columns: Vec<Column>,
    /// Nothing when nothing happened.
    pub(super) group: Option<PlotGroup>,
}

/// Turns spans and events into bands over the rows of the run.
pub(super) fn timeline(run: &RunReport) -> Timeline {
    let mut columns = why_not(run);
    let mut permission = Lane::new("Why not", "");
    for column in &columns {
        permission = permission.styled(column.name.clone(), short(&column.name), WITHHELD, Stroke::Solid);
    }
    let raised = faults(run);
    let mut active = Lane::new("Faults", "");
    for column in &raised {
        active = active.styled(column.name.clone(), short(&column.name), ACTIVE, Stroke::Solid);
    }
    columns.extend(raised);
    let lanes: Vec<Lane> = [permission, active].into_iter().filter(|lane| !lane.series.is_empty()).collect();
    let group = (!lanes.is_empty()).then(|| PlotGroup {
        title: "Permission and faults".into(),
        caption: "What withheld motion from each function group, and which faults were active.".into(),
        lanes,
    });
    Timeline { columns, group }
}

/// The name without what its lane's heading says already.
fn short(name: &str) -> &str {
    name.split_once(": ").map_or(name, |(_, label)| label)
}

fn why_not(run: &RunReport) -> Vec<Column> {
    let mut columns: Vec<Column> = Vec::new();
    for span in &run.why_not {
        let name = format!("why not: {}", span.group);
        let index = columns.iter().position(|column| column.name == name).unwrap_or_else(|| {
            columns.push(Column {
                name,
                doc: format!("What withholds permission from {}", span.group),
                values: vec![0.0; run.time.len()],
                choices: vec!["permitted".into()],
                ..Column::default()
            });
            columns.len() - 1
        });
        let column = &mut columns[index];
        let reason = span.reasons.join(" + ");
        let state = column.choices.iter().position(|choice| *choice == reason).unwrap_or_else(|| {
            column.choices.push(reason);
            column.choices.len() - 1
        });
        fill(&run.time, &mut column.values, span.from, span.until, state as f64);
    }
    columns
}

fn faults(run: &RunReport) -> Vec<Column> {
    let mut columns: Vec<Column> = Vec::new();
    for event in &run.faults {
        let name = format!("fault: {}", label(event));
        let index = columns.iter().position(|column| column.name == name).unwrap_or_else(|| {
            columns.push(Column {
                name,
                doc: event.text.clone(),
                values: vec![0.0; run.time.len()],
                choices: vec!["not active".into(), "active".into()],
                ..Column::default()
            });
            columns.len() - 1
        });
        let until = event.until.unwrap_or(f64::INFINITY);
        fill(&run.time, &mut columns[index].values, event.at, until, 1.0);
    }
    columns
}

/// Code and text of a fault in one line.
pub(super) fn label(event: &FaultEvent) -> String {
    [event.code.as_str(), event.text.as_str()]
        .into_iter()
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
}

/// Sets the rows inside a span; a span between two rows still marks one, so that it is seen.
fn fill(time: &[f64], values: &mut [f64], from: f64, until: f64, state: f64) {
    let first = time.partition_point(|at| *at < from);
    let end = time.partition_point(|at| *at <= until).max(first + 1);
    for value in values.iter_mut().take(end).skip(first) {
        *value = state;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::WhyNot;

    fn span(from: f64, until: f64, reason: &str) -> WhyNot {
        WhyNot { from, until, group: "drive".into(), reasons: vec![reason.into(), "seat open".into()] }
    }

    #[test]
    fn spans_of_one_group_become_one_band_with_a_state_per_set_of_reasons() {
        let run = RunReport {
            time: (0..10).map(f64::from).collect(),
            why_not: vec![span(0.0, 2.0, "bar up"), span(5.0, 6.0, "lever held"), span(8.2, 8.3, "bar up")],
            ..RunReport::default()
        };
        let timeline = timeline(&run);
        assert_eq!(timeline.columns.len(), 1);
        assert_eq!(timeline.columns[0].values, [1.0, 1.0, 1.0, 0.0, 0.0, 2.0, 2.0, 0.0, 0.0, 1.0]);
        assert_eq!(
            timeline.columns[0].choices,
            ["permitted", "bar up + seat open", "lever held + seat open"]
        );
    }

    #[test]
    fn a_fault_that_does_not_heal_is_active_to_the_end() {
        let fault =
            FaultEvent { at: 2.5, code: "2660/13".into(), text: "lever".into(), ..Default::default() };
        let run =
            RunReport { time: vec![0.0, 1.0, 2.0, 3.0, 4.0], faults: vec![fault], ..Default::default() };
        let timeline = timeline(&run);
        assert_eq!(timeline.columns[0].values, [0.0, 0.0, 0.0, 1.0, 1.0]);
        assert_eq!(timeline.columns[0].name, "fault: 2660/13 lever");
    }

    #[test]
    fn a_quiet_run_has_no_timeline() {
        assert!(timeline(&RunReport::default()).group.is_none());
    }
}
