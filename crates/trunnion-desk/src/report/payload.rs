//! The numbers of a page, packed, as the script reads them.

use serde::Serialize;

use super::codec::{self, Packed};
use super::data::{RunReport, Verdict};
use super::figure;
use super::plot_data::{Column, Comparison, Stroke};
use super::timeline::{self, Timeline};

/// Everything that the script draws from: of one run, or of one comparison.
#[derive(Serialize)]
pub(super) struct Board<'a> {
    x_label: &'a str,
    x_unit: &'a str,
    /// Abscissae; a run has one set.
    axes: Vec<Packed>,
    columns: Vec<BoardColumn<'a>>,
    /// How many of the columns are listed as signals; the rest follow from events.
    signals: usize,
    figures: Vec<BoardFigure<'a>>,
    marks: Vec<BoardMark>,
    spans: Vec<(f64, f64)>,
    path: Option<BoardPath>,
}

#[derive(Serialize)]
struct BoardColumn<'a> {
    name: &'a str,
    unit: &'a str,
    doc: &'a str,
    choices: &'a [String],
    axis: usize,
    packed: Packed,
}

#[derive(Serialize)]
struct BoardFigure<'a> {
    title: &'a str,
    caption: &'a str,
    lanes: Vec<BoardLane<'a>>,
}

#[derive(Serialize)]
struct BoardLane<'a> {
    title: &'a str,
    unit: &'a str,
    range: Option<(f64, f64)>,
    limits: Vec<(f64, &'a str)>,
    series: Vec<BoardSeries<'a>>,
}

#[derive(Serialize)]
struct BoardSeries<'a> {
    column: usize,
    label: &'a str,
    colour: u8,
    dash: u8,
}

/// An instant on the strip above the plots.
#[derive(Serialize)]
struct BoardMark {
    at: f64,
    kind: &'static str,
    text: String,
}

#[derive(Serialize)]
struct BoardPath {
    x: Packed,
    y: Packed,
    yaw: Packed,
}

impl Board<'_> {
    /// JSON that can stand in a script element: no `<`, so no end tag and no comment.
    pub(super) fn json(&self) -> String {
        // Only a map with odd keys or a failing writer could make this fail; there are neither.
        serde_json::to_string(self).unwrap_or_default().replace('<', "\\u003c")
    }
}

/// Packs a run. Names were checked before: a series without a column is left out.
pub(super) fn of_run<'a>(run: &'a RunReport, events: &'a Timeline) -> Board<'a> {
    let all: Vec<&Column> = run.columns.iter().chain(&events.columns).collect();
    let index = |name: &str| all.iter().rposition(|column| column.name == name);
    let figures = events.group.iter().chain(&run.plots).map(|group| BoardFigure {
        title: &group.title,
        caption: &group.caption,
        lanes: (group.lanes.iter())
            .map(|lane| {
                let mut lines = 0;
                let series = lane.series.iter().filter_map(|series| {
                    let column = index(&series.column)?;
                    let line = all[column].choices.is_empty();
                    let colour = figure::colour(series.colour, if line { lines } else { 0 });
                    lines += usize::from(line);
                    let label = if series.label.is_empty() { &series.column } else { &series.label };
                    Some(BoardSeries { column, label, colour, dash: dash(series.stroke) })
                });
                BoardLane {
                    title: &lane.title,
                    unit: &lane.unit,
                    range: lane.range,
                    series: series.collect(),
                    limits: lane.limits.iter().map(|limit| (limit.value, limit.label.as_str())).collect(),
                }
            })
            .collect(),
    });
    Board {
        x_label: "time",
        x_unit: "s",
        axes: vec![codec::pack(&run.time)],
        signals: run.columns.len(),
        figures: figures.collect(),
        columns: all.iter().map(|column| board_column(column)).collect(),
        marks: marks(run),
        spans: run.why_not.iter().map(|span| (span.from, span.until)).collect(),
        path: run.path.as_ref().map(|path| BoardPath {
            x: codec::pack(&path.x),
            y: codec::pack(&path.y),
            yaw: codec::pack(&path.yaw),
        }),
    }
}

fn board_column(column: &Column) -> BoardColumn<'_> {
    BoardColumn {
        name: &column.name,
        unit: &column.unit,
        doc: &column.doc,
        choices: &column.choices,
        axis: 0,
        packed: codec::pack(&column.values),
    }
}

/// Faults raised, and where a requirement was broken or came closest.
fn marks(run: &RunReport) -> Vec<BoardMark> {
    let faults = run.faults.iter().map(|event| BoardMark {
        at: event.at,
        kind: "fault",
        text: format!("fault {}", timeline::label(event)),
    });
    let requirements = run.requirements.iter().filter_map(|row| {
        let (kind, word) = match row.verdict {
            Verdict::Held => ("held", "closest"),
            Verdict::Violated => ("violated", "violated"),
            Verdict::Inconclusive => ("open", "inconclusive"),
        };
        Some(BoardMark { at: row.at?, kind, text: format!("{} {word}", row.id) })
    });
    faults.chain(requirements).filter(|mark| mark.at.is_finite()).collect()
}

fn dash(stroke: Stroke) -> u8 {
    match stroke {
        Stroke::Solid => 0,
        Stroke::Dashed => 1,
        Stroke::Dotted => 2,
    }
}

/// Packs a comparison: one column per curve, equal abscissae once.
pub(super) fn of_comparison(comparison: &Comparison) -> Board<'_> {
    let mut axes: Vec<&[f64]> = Vec::new();
    let mut columns = Vec::new();
    let mut lanes = Vec::new();
    for lane in &comparison.lanes {
        let mut series = Vec::new();
        for (position, curve) in lane.curves.iter().enumerate() {
            let axis = axes.iter().position(|axis| **axis == curve.x).unwrap_or_else(|| {
                axes.push(&curve.x);
                axes.len() - 1
            });
            series.push(BoardSeries {
                column: columns.len(),
                label: &curve.label,
                colour: figure::colour(curve.colour, position),
                dash: dash(curve.stroke),
            });
            columns.push(BoardColumn {
                name: &curve.label,
                unit: &lane.unit,
                doc: "",
                choices: &[],
                axis,
                packed: codec::pack(&curve.y),
            });
        }
        let limits = lane.limits.iter().map(|limit| (limit.value, limit.label.as_str())).collect();
        lanes.push(BoardLane { title: &lane.title, unit: &lane.unit, range: None, limits, series });
    }
    Board {
        x_label: &comparison.x_label,
        x_unit: &comparison.x_unit,
        axes: axes.into_iter().map(codec::pack).collect(),
        columns,
        signals: 0,
        figures: vec![BoardFigure { title: "", caption: "", lanes }],
        marks: Vec::new(),
        spans: Vec::new(),
        path: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{Curve, CurveLane, FaultEvent};

    #[test]
    fn hostile_names_cannot_end_the_script_element() {
        let run = RunReport {
            faults: vec![FaultEvent {
                text: "</script><script>alert(1)</script><!--".into(),
                ..Default::default()
            }],
            ..RunReport::default()
        };
        let json = of_run(&run, &Timeline::default()).json();
        assert!(!json.contains('<'), "{json}");
        let back: serde_json::Value = serde_json::from_str(&json).unwrap();
        assert_eq!(back["marks"][0]["text"], "fault </script><script>alert(1)</script><!--");
    }

    #[test]
    fn curves_on_the_same_abscissae_share_them() {
        let x = vec![0.0, 1.0];
        let curves = vec![
            Curve::new("a", x.clone(), vec![1.0, 2.0]),
            Curve::new("b", x.clone(), vec![2.0, 1.0]),
            Curve::new("c", vec![0.0, 2.0], x),
        ];
        let comparison =
            Comparison { lanes: vec![CurveLane { curves, ..CurveLane::default() }], ..Comparison::default() };
        let board = of_comparison(&comparison);
        assert_eq!(board.axes.len(), 2);
        assert_eq!(board.columns.iter().map(|column| column.axis).collect::<Vec<_>>(), [0, 0, 1]);
    }
}
