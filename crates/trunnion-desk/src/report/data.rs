//! What a report is made from: plain values, so that any record of a run can be turned into one.

use super::plot_data::{Column, Comparison, Path, PlotGroup};

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
