//! A plot with its names resolved: what both the picture writer and the page's script draw from.

use super::axis;
use super::check::{self, ReportError};
use super::data::RunReport;
use super::plot_data::{Column, Comparison, Limit, PlotGroup, Stroke};

/// Lanes on one shared x axis.
pub(super) struct Figure<'a> {
    pub(super) title: &'a str,
    pub(super) x_label: &'a str,
    pub(super) x_unit: &'a str,
    /// Ends of the x axis.
    pub(super) x_range: (f64, f64),
    pub(super) lanes: Vec<FigureLane<'a>>,
}

/// One lane: lines above, bands below.
pub(super) struct FigureLane<'a> {
    pub(super) title: &'a str,
    pub(super) unit: &'a str,
    pub(super) range: Option<(f64, f64)>,
    pub(super) limits: &'a [Limit],
    pub(super) lines: Vec<Line<'a>>,
    pub(super) bands: Vec<Band<'a>>,
}

/// A curve.
pub(super) struct Line<'a> {
    pub(super) label: &'a str,
    pub(super) colour: u8,
    pub(super) stroke: Stroke,
    pub(super) x: &'a [f64],
    pub(super) y: &'a [f64],
}

/// States over x.
pub(super) struct Band<'a> {
    pub(super) label: &'a str,
    /// Ground of state 1; the further ones follow.
    pub(super) ground: u8,
    pub(super) x: &'a [f64],
    pub(super) states: &'a [f64],
    pub(super) choices: &'a [String],
}

impl FigureLane<'_> {
    /// Ends of the y axis: fixed, or such that every line and limit is in view.
    pub(super) fn y_range(&self) -> (f64, f64) {
        self.range.filter(|(low, high)| low < high).unwrap_or_else(|| {
            let lines = self.lines.iter().flat_map(|line| line.y.iter().copied());
            axis::fit(lines.chain(self.limits.iter().map(|limit| limit.value))).unwrap_or((0.0, 1.0))
        })
    }
}

/// The colour of the line at that position when none was chosen.
pub(super) fn colour(chosen: Option<u8>, position: usize) -> u8 {
    chosen.unwrap_or(position as u8) % 8
}

/// Resolves the lanes of a run; `extra` are columns that follow from its events.
pub(super) fn of_group<'a>(
    run: &'a RunReport,
    extra: &'a [Column],
    group: &'a PlotGroup,
) -> Result<Figure<'a>, ReportError> {
    let find = |name: &str| extra.iter().find(|column| column.name == name).or_else(|| run.column(name));
    let mut lanes = Vec::new();
    for lane in &group.lanes {
        let mut resolved = FigureLane {
            title: &lane.title,
            unit: &lane.unit,
            range: lane.range,
            limits: &lane.limits,
            lines: Vec::new(),
            bands: Vec::new(),
        };
        for series in &lane.series {
            let column = find(&series.column).ok_or_else(|| ReportError::NoSuchColumn {
                run: run.title.clone(),
                place: format!("lane '{}' in '{}'", lane.title, group.title),
                column: series.column.clone(),
            })?;
            let label = if series.label.is_empty() { &column.name } else { &series.label };
            if column.choices.is_empty() {
                let colour = colour(series.colour, resolved.lines.len());
                let (x, y) = (&run.time, &column.values);
                resolved.lines.push(Line { label, colour, stroke: series.stroke, x, y });
            } else {
                let (x, states) = (&run.time, &column.values);
                let ground = colour(series.colour, 0);
                resolved.bands.push(Band { label, ground, x, states, choices: &column.choices });
            }
        }
        lanes.push(resolved);
    }
    let x_range = span(run.time.iter().copied());
    Ok(Figure { title: &group.title, x_label: "time", x_unit: "s", x_range, lanes })
}

/// Resolves a comparison.
pub(super) fn of_comparison(comparison: &Comparison) -> Result<Figure<'_>, ReportError> {
    check::check_comparison(comparison)?;
    let lanes = comparison.lanes.iter().map(|lane| FigureLane {
        title: &lane.title,
        unit: &lane.unit,
        range: None,
        limits: &lane.limits,
        lines: (lane.curves.iter().enumerate())
            .map(|(position, curve)| Line {
                label: &curve.label,
                colour: colour(curve.colour, position),
                stroke: curve.stroke,
                x: &curve.x,
                y: &curve.y,
            })
            .collect(),
        bands: Vec::new(),
    });
    let curves = comparison.lanes.iter().flat_map(|lane| &lane.curves);
    Ok(Figure {
        title: &comparison.title,
        x_label: &comparison.x_label,
        x_unit: &comparison.x_unit,
        x_range: span(curves.flat_map(|curve| curve.x.iter().copied())),
        lanes: lanes.collect(),
    })
}

/// First and last of the values; one unit wide when there are fewer than two.
fn span(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = values
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    if low < high {
        (low, high)
    } else if low == high {
        (low, low + 1.0)
    } else {
        (0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Curve, CurveLane, Lane};

    #[test]
    fn columns_with_choices_become_bands_and_the_others_lines() {
        let column = |name: &str, choices: &[&str]| Column {
            name: name.into(),
            values: vec![0.0, 1.0],
            choices: choices.iter().map(|choice| (*choice).into()).collect(),
            ..Column::default()
        };
        let group = PlotGroup {
            lanes: vec![Lane::new("Lane", "").line("seat", "").line("current", "left")],
            ..PlotGroup::default()
        };
        let run = RunReport {
            time: vec![0.0, 2.0],
            columns: vec![column("seat", &["open", "occupied"]), column("current", &[])],
            ..RunReport::default()
        };
        let figure = of_group(&run, &[], &group).unwrap();
        assert_eq!(figure.x_range, (0.0, 2.0));
        assert_eq!(figure.lanes[0].bands[0].label, "seat");
        assert_eq!(figure.lanes[0].lines[0].label, "left");
        assert_eq!(figure.lanes[0].lines[0].colour, 0);
    }

    #[test]
    fn the_axis_of_a_comparison_spans_all_its_curves() {
        let curves = vec![
            Curve::new("one", vec![0.0, 1.0], vec![0.0, 1.0]),
            Curve::new("other", vec![-1.0, 0.5], vec![3.0, f64::NAN]),
        ];
        let comparison =
            Comparison { lanes: vec![CurveLane { curves, ..CurveLane::default() }], ..Comparison::default() };
        let figure = of_comparison(&comparison).unwrap();
        assert_eq!(figure.x_range, (-1.0, 1.0));
        let (low, high) = figure.lanes[0].y_range();
        assert!(low <= 0.0 && high >= 3.0);
    }
}
