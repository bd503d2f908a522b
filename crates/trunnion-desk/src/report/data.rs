//! What a report is made from: plain values, so that any record of a run can be turned into one.

use super::check::ReportError;

/// Everything that one report shows.
#[derive(Debug, Clone, Default)]
pub struct ReportData {
    /// Name of the machine, as on its drawing.
    pub machine: String,
    /// What was done with it: "Working cycle and faults".
    pub title: String,
    /// A sentence or two on what the reader sees.
    pub about: String,
    /// The runs, in the order of the sheets.
    pub runs: Vec<RunReport>,
    /// Plots that set something beside something else, each on its own axes.
    pub comparisons: Vec<Comparison>,
    /// Whether the firmware image gave the outputs that the host gave.
    pub parity: Parity,
    /// What the report was generated from: program version, toolchain, hashes of declaration and parameters.
    pub provenance: Vec<Fact>,
    /// Further tables for the last sheets: wiring list, parameter sheet, fault list.
    pub tables: Vec<Table>,
    /// Cautions of this machine; the standing ones are always printed before them.
    pub cautions: Vec<String>,
    /// Lines that do not belong to one run.
    pub log: Vec<LogLine>,
}

/// Whether host and firmware agreed.
#[derive(Debug, Clone, Default)]
pub enum Parity {
    /// Nobody compared.
    #[default]
    NotCompared,
    /// It could not be compared, and why.
    Skipped(String),
    /// Every output of every tick was equal.
    BitForBit {
        /// What ran the image: "Cortex-M4 image in QEMU, over UART".
        controller: String,
        /// Control ticks compared.
        ticks: u64,
    },
    /// The first difference.
    Differs {
        /// What ran the image.
        controller: String,
        /// Where and what: run, tick, column, both values.
        first: String,
    },
}

/// A label and its value.
#[derive(Debug, Clone, Default)]
pub struct Fact {
    /// What it is.
    pub label: String,
    /// Its value; long hexadecimal values are set as code.
    pub value: String,
}

/// A table of text, shown as it is.
#[derive(Debug, Clone, Default)]
pub struct Table {
    /// Heading.
    pub title: String,
    /// One or two sentences above it.
    pub caption: String,
    /// Column heads.
    pub head: Vec<String>,
    /// Rows; each as long as `head`.
    pub rows: Vec<Vec<String>>,
}

/// One line of a log.
#[derive(Debug, Clone, Default)]
pub struct LogLine {
    /// Seconds of run time, if the line has one.
    pub at: Option<f64>,
    /// Who wrote it: "host", "firmware", "warn".
    pub source: String,
    /// The line.
    pub text: String,
}

/// One run of one scenario.
#[derive(Debug, Clone, Default)]
pub struct RunReport {
    /// Title of the scenario.
    pub title: String,
    /// What happens in it.
    pub about: String,
    /// Simulated time in seconds.
    pub duration: f64,
    /// Hash of the trace, hexadecimal; empty when there is none.
    pub hash: String,
    /// Whether the firmware agreed in this run.
    pub parity: Parity,
    /// The requirements that were monitored.
    pub requirements: Vec<Requirement>,
    /// Faults that were raised, in order of time.
    pub faults: Vec<FaultEvent>,
    /// Spans without permission and the reasons, in order of time.
    pub why_not: Vec<WhyNot>,
    /// Time of every row in seconds, strictly rising.
    pub time: Vec<f64>,
    /// The record: each column as long as `time`.
    pub columns: Vec<Column>,
    /// What is drawn from it, top to bottom.
    pub plots: Vec<PlotGroup>,
    /// The path driven, if the plant moves in the plane.
    pub path: Option<Path>,
    /// Lines logged in this run.
    pub log: Vec<LogLine>,
}

/// How a requirement came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Verdict {
    /// It held over the whole run.
    Held,
    /// It was broken at least once.
    Violated,
    /// The run did not exercise it, or ended before it could be decided.
    #[default]
    Inconclusive,
}

/// One row of the requirement table.
#[derive(Debug, Clone, Default)]
pub struct Requirement {
    /// Identifier, the same in every run: "R-07".
    pub id: String,
    /// The requirement as a sentence.
    pub sentence: String,
    /// The hazard that it answers; may be empty.
    pub hazard: String,
    /// How it came out.
    pub verdict: Verdict,
    /// Robustness margin in `unit`, negative when violated.
    pub margin: Option<f64>,
    /// Unit of the margin.
    pub unit: String,
    /// Run time in seconds at which the margin was smallest.
    pub at: Option<f64>,
    /// What was seen then; may be empty.
    pub explanation: String,
}

/// A fault from raised to healed.
#[derive(Debug, Clone, Default)]
pub struct FaultEvent {
    /// Seconds at which it became active.
    pub at: f64,
    /// Seconds at which it stopped being active; `None` when it lasted to the end.
    pub until: Option<f64>,
    /// SPN/FMI or another code.
    pub code: String,
    /// What it says.
    pub text: String,
    /// What the machine did about it.
    pub reaction: String,
}

/// A span in which a function group had no permission.
#[derive(Debug, Clone, Default)]
pub struct WhyNot {
    /// First second of the span.
    pub from: f64,
    /// Last second of the span.
    pub until: f64,
    /// Function group: "drive", "work", "auxiliary".
    pub group: String,
    /// The smallest set of conditions whose change would permit motion.
    pub reasons: Vec<String>,
}

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
    /// Colour 0..=7 of the palette; by position in the lane when `None`.
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

impl Fact {
    /// A label and its value.
    pub fn new(label: impl Into<String>, value: impl Into<String>) -> Self {
        Self { label: label.into(), value: value.into() }
    }
}

impl RunReport {
    /// The column of that name.
    pub fn column(&self, name: &str) -> Option<&Column> {
        self.columns.iter().find(|column| column.name == name)
    }

    /// How many requirements came out so.
    pub fn count(&self, verdict: Verdict) -> usize {
        self.requirements.iter().filter(|row| row.verdict == verdict).count()
    }
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
