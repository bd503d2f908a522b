use serde::Serialize;

use crate::requirement::{Evidence, Verdict};
use crate::trace::{Trace, TraceHash};

/// What a scenario came to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Run {
    /// Where the scenario's text came from.
    pub origin: String,
    /// Its title.
    pub title: String,
    /// What it is about.
    pub about: String,
    /// Its seed.
    pub seed: u64,
    /// False when the run was ended before the scenario was over.
    pub complete: bool,
    /// The requirements, the machine's first, then the scenario's.
    pub results: Vec<RequirementResult>,
    /// What the scenario did.
    pub events: Vec<EventRecord>,
    /// Hash over everything that crossed the controller's border.
    pub hash: TraceHash,
    /// The record of the run.
    pub trace: Trace,
}

impl Run {
    /// True when the scenario was run to its end and every requirement held.
    pub fn passed(&self) -> bool {
        self.complete && self.results.iter().all(|result| result.verdict == Verdict::Held)
    }
}

/// What a run says of a requirement.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RequirementResult {
    /// Its short name.
    pub id: String,
    /// What it asks, for a reader.
    pub sentence: String,
    /// The hazard it answers; empty when it does not say.
    pub hazard: String,
    /// What it asks, for the monitor.
    pub formula: String,
    /// Whether it holds.
    pub verdict: Verdict,
    /// Distance to the other verdict, negative when violated; `None` when a yes/no condition decided.
    pub margin: Option<f64>,
    /// Unit of the margin.
    pub unit: String,
    /// Time to look at, in seconds: of the first failure, or of the smallest margin.
    pub at: Option<f64>,
    /// Why, in a sentence or two; may be empty for what is held.
    pub explanation: String,
    /// The conditions that decided.
    pub evidence: Vec<Evidence>,
}

/// Something that the scenario did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EventRecord {
    /// When, in seconds: the beginning of the tick.
    pub at: f64,
    /// What, as written; with the machine's answer when it refused a parameter.
    pub text: String,
}
