//! What must be true of the data before a page is written.

use std::collections::HashSet;

use super::data::{ReportData, RunReport};
use super::plot_data::Comparison;

/// Why no report could be written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReportError {
    /// A lane or a comparison draws a column that the run did not record.
    #[error(
        "{place} of run '{run}' draws the column '{column}', which the run did not record: correct the name"
    )]
    NoSuchColumn {
        /// Title of the run.
        run: String,
        /// Which lane or plot.
        place: String,
        /// The name that was not found.
        column: String,
    },
    /// Two columns have one name.
    #[error("run '{run}' has two columns named '{column}': names are unique within a run")]
    TwoColumns {
        /// Title of the run.
        run: String,
        /// The name.
        column: String,
    },
    /// A sequence is not as long as its abscissae.
    #[error("'{name}' in '{run}' has {got} values, but there are {expected} rows: record one value per row")]
    Uneven {
        /// Title of the run or the comparison.
        run: String,
        /// Which sequence.
        name: String,
        /// Its length.
        got: usize,
        /// The length that it must have.
        expected: usize,
    },
    /// Time stands still, runs back or is not a number.
    #[error("time of run '{run}' does not rise at row {row}: rows are in order of time, each at its own")]
    TimeNotRising {
        /// Title of the run.
        run: String,
        /// First row that is not later than the one before it.
        row: usize,
    },
}

/// Checks everything that the page relies on.
pub(super) fn check(data: &ReportData) -> Result<(), ReportError> {
    data.runs.iter().try_for_each(check_run)?;
    data.comparisons.iter().try_for_each(check_comparison)
}

/// Checks one run: time rises, lengths agree, names are unique and found.
pub(super) fn check_run(run: &RunReport) -> Result<(), ReportError> {
    let odd = run.time.iter().position(|at| !at.is_finite());
    let late = run.time.windows(2).position(|pair| pair[0] >= pair[1]);
    if let Some(row) = odd.or(late.map(|row| row + 1)) {
        return Err(ReportError::TimeNotRising { run: run.title.clone(), row });
    }
    let mut names = HashSet::new();
    for column in &run.columns {
        if !names.insert(column.name.as_str()) {
            return Err(ReportError::TwoColumns { run: run.title.clone(), column: column.name.clone() });
        }
        even(&run.title, &column.name, column.values.len(), run.time.len())?;
    }
    for (group, lane) in run.plots.iter().flat_map(|group| group.lanes.iter().map(move |lane| (group, lane)))
    {
        if let Some(series) = lane.series.iter().find(|series| !names.contains(series.column.as_str())) {
            return Err(ReportError::NoSuchColumn {
                run: run.title.clone(),
                place: format!("lane '{}' in '{}'", lane.title, group.title),
                column: series.column.clone(),
            });
        }
    }
    if let Some(path) = &run.path {
        for (name, values) in [("path x", &path.x), ("path y", &path.y), ("path yaw", &path.yaw)] {
            even(&run.title, name, values.len(), run.time.len())?;
        }
    }
    Ok(())
}

/// Checks that every curve has as many ordinates as abscissae.
pub(super) fn check_comparison(comparison: &Comparison) -> Result<(), ReportError> {
    for curve in comparison.lanes.iter().flat_map(|lane| &lane.curves) {
        even(&comparison.title, &curve.label, curve.y.len(), curve.x.len())?;
    }
    Ok(())
}

fn even(run: &str, name: &str, got: usize, expected: usize) -> Result<(), ReportError> {
    if got == expected {
        return Ok(());
    }
    Err(ReportError::Uneven { run: run.into(), name: name.into(), got, expected })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Column, Lane, PlotGroup};

    fn run() -> RunReport {
        RunReport {
            title: "Out and back".into(),
            time: vec![0.0, 0.01, 0.02],
            columns: vec![Column {
                name: "lever_left_y".into(),
                values: vec![0.0, 0.5, 1.0],
                ..Column::default()
            }],
            ..RunReport::default()
        }
    }

    #[test]
    fn a_lane_that_names_an_unrecorded_column_is_refused_with_its_place() {
        let mut run = run();
        let lanes = vec![Lane::new("Levers", "").line("lever_left_z", "")];
        run.plots.push(PlotGroup { title: "Levers".into(), lanes, ..PlotGroup::default() });
        let error = check_run(&run).unwrap_err().to_string();
        for part in ["Out and back", "lane 'Levers' in 'Levers'", "lever_left_z"] {
            assert!(error.contains(part), "{error}");
        }
    }

    #[test]
    fn a_column_shorter_than_time_is_refused() {
        let mut run = run();
        run.columns[0].values.pop();
        assert!(matches!(check_run(&run), Err(ReportError::Uneven { got: 2, expected: 3, .. })));
    }

    #[test]
    fn time_that_stands_still_or_is_no_number_is_refused_at_its_row() {
        let mut standing = run();
        standing.time = vec![0.0, 0.01, 0.01];
        assert!(matches!(check_run(&standing), Err(ReportError::TimeNotRising { row: 2, .. })));
        standing.time = vec![f64::NAN, 0.01, 0.02];
        assert!(matches!(check_run(&standing), Err(ReportError::TimeNotRising { row: 0, .. })));
    }

    #[test]
    fn two_columns_of_one_name_are_refused() {
        let mut run = run();
        run.columns.push(run.columns[0].clone());
        assert!(matches!(check_run(&run), Err(ReportError::TwoColumns { .. })));
    }

    #[test]
    fn a_sound_run_passes() {
        assert_eq!(check_run(&run()), Ok(()));
    }
}
