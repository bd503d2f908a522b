//! The recorded signals of a run and what is drawn of them.

use super::check::ReportError;
use super::data::RunReport;

/// One signal over the run.
#[derive(Debug, Clone, Default)]
pub struct Column {
    /// Name, unique within the run.
    pub name: String,
    /// Unit, empty when it has none.
    pub unit: String,
    /// What it is.
    pub doc: String,
    /// One value per row. Not finite means missing.
    pub values: Vec<f64>,
    /// Names of the states 0, 1, 2… of a boolean or an enumeration; empty for a quantity. State 0 is the
    /// resting one and is drawn as a thin line.
    pub choices: Vec<String>,
}

/// Lanes that are read together.
#[derive(Debug, Clone, Default)]
pub struct PlotGroup {
    /// Heading: "Levers to motion".
    pub title: String,
    /// What to look for.
    pub caption: String,
    /// Lanes from top to bottom.
    pub lanes: Vec<Lane>,
}

/// One plot on the shared time axis.
#[derive(Debug, Clone, Default)]
pub struct Lane {
    /// Heading: "Levers".
    pub title: String,
    /// Unit of its axis.
    pub unit: String,
    /// What is drawn. Columns with choices become bands below the lines.
    pub series: Vec<LaneSeries>,
    /// Fixed axis; otherwise it fits the values.
    pub range: Option<(f64, f64)>,
    /// Horizontal lines: thresholds and limits.
    pub limits: Vec<Limit>,
}

/// A horizontal line in a lane.
#[derive(Debug, Clone, Default)]
pub struct Limit {
    /// Where, in the lane's unit.
    pub value: f64,
    /// Its name.
    pub label: String,
}

/// How a line is drawn, so that colour is never the only difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stroke {
    /// A full line.
    #[default]
    Solid,
    /// Long dashes: by habit what is asked for.
    Dashed,
    /// Dots.
    Dotted,
}

/// A column in a lane.
#[derive(Debug, Clone, Default)]
pub struct LaneSeries {
    /// Name of the column.
    pub column: String,
    /// Short name in this lane; the column's name when empty.
    pub label: String,
    /// Colour 0..=7 of the palette; by position in the lane when `None`. Of a band: the ground of state 1, the
    /// further states follow.
    pub colour: Option<u8>,
    /// Line pattern.
    pub stroke: Stroke,
}

/// The path driven, seen from above.
#[derive(Debug, Clone, Default)]
pub struct Path {
    /// Metres, to the right on the page; one value per row of the run.
    pub x: Vec<f64>,
    /// Metres, up the page.
    pub y: Vec<f64>,
    /// Heading in radians, counter-clockwise from x.
    pub yaw: Vec<f64>,
    /// Outline of the machine.
    pub footprint: Footprint,
    /// Instants worth a label.
    pub marks: Vec<Mark>,
}

/// Outline of the machine about its reference point.
#[derive(Debug, Clone, Copy)]
pub struct Footprint {
    /// Overall length in metres.
    pub length: f64,
    /// Overall width in metres.
    pub width: f64,
    /// Distance of the front edge ahead of the reference point in metres.
    pub ahead: f64,
}

impl Default for Footprint {
    fn default() -> Self {
        Self { length: 3.0, width: 1.7, ahead: 1.5 }
    }
}

/// A labelled instant on the path.
#[derive(Debug, Clone, Default)]
pub struct Mark {
    /// Seconds.
    pub at: f64,
    /// What happens there.
    pub label: String,
}

/// Curves on axes of their own: two laws side by side, the same signal of two runs.
#[derive(Debug, Clone, Default)]
pub struct Comparison {
    /// Heading.
    pub title: String,
    /// What to look for.
    pub caption: String,
    /// Name of the x axis.
    pub x_label: String,
    /// Unit of the x axis.
    pub x_unit: String,
    /// Lanes from top to bottom on that axis.
    pub lanes: Vec<CurveLane>,
}

/// One lane of a comparison.
#[derive(Debug, Clone, Default)]
pub struct CurveLane {
    /// Heading.
    pub title: String,
    /// Unit of its axis.
    pub unit: String,
    /// Curves.
    pub curves: Vec<Curve>,
    /// Horizontal lines.
    pub limits: Vec<Limit>,
}

/// A curve with its own x values.
#[derive(Debug, Clone, Default)]
pub struct Curve {
    /// Name in the legend.
    pub label: String,
    /// Abscissae; need not rise, though the cursor reads a value only from curves that do.
    pub x: Vec<f64>,
    /// Ordinates, as many as `x`. Not finite means a gap: the line is broken there.
    pub y: Vec<f64>,
    /// Colour 0..=7; by position when `None`.
    pub colour: Option<u8>,
    /// Line pattern.
    pub stroke: Stroke,
}

impl Lane {
    /// An empty lane.
    pub fn new(title: impl Into<String>, unit: impl Into<String>) -> Self {
        Self { title: title.into(), unit: unit.into(), ..Self::default() }
    }

    /// Adds a column under a short name in the next colour.
    pub fn line(mut self, column: impl Into<String>, label: impl Into<String>) -> Self {
        self.series.push(LaneSeries { column: column.into(), label: label.into(), ..LaneSeries::default() });
        self
    }

    /// Adds a column in a given colour and pattern.
    pub fn styled(
        mut self,
        column: impl Into<String>,
        label: impl Into<String>,
        colour: u8,
        stroke: Stroke,
    ) -> Self {
        self.series.push(LaneSeries {
            column: column.into(),
            label: label.into(),
            colour: Some(colour),
            stroke,
        });
        self
    }

    /// Fixes the axis.
    pub fn between(mut self, low: f64, high: f64) -> Self {
        self.range = Some((low, high));
        self
    }

    /// Adds a horizontal line.
    pub fn limit(mut self, value: f64, label: impl Into<String>) -> Self {
        self.limits.push(Limit { value, label: label.into() });
        self
    }
}

impl Curve {
    /// A full line in the next colour.
    pub fn new(label: impl Into<String>, x: Vec<f64>, y: Vec<f64>) -> Self {
        Self { label: label.into(), x, y, ..Self::default() }
    }

    /// A column of a run over its time.
    ///
    /// # Errors
    /// When the run has no such column.
    pub fn of_run(label: impl Into<String>, run: &RunReport, column: &str) -> Result<Self, ReportError> {
        let found = run.column(column).ok_or_else(|| ReportError::NoSuchColumn {
            run: run.title.clone(),
            place: "a comparison".into(),
            column: column.into(),
        })?;
        Ok(Self::new(label, run.time.clone(), found.values.clone()))
    }

    /// Sets colour and pattern.
    pub fn styled(mut self, colour: u8, stroke: Stroke) -> Self {
        self.colour = Some(colour);
        self.stroke = stroke;
        self
    }
}
