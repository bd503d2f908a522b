//! What a proof is, what it is asked for and what it gives.

use std::time::Duration;

use serde::{Deserialize, Serialize};

use crate::progress::Progress;

/// How a proof covers what it claims.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A map of one input over all raw inputs.
    Sweep,
    /// A block over all states that it can reach.
    Walk,
    /// A property over generated inputs.
    Property,
}

impl Kind {
    /// As the command line spells it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sweep => "sweep",
            Self::Walk => "walk",
            Self::Property => "property",
        }
    }
}

/// How much of it is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effort {
    /// Boundaries and a stride of every sweep; walks whole.
    Quick,
    /// All inputs.
    Whole,
}

/// Where a proof runs.
pub struct Bench<'a> {
    /// How much is done.
    pub effort: Effort,
    /// Threads that may be used.
    pub threads: usize,
    /// Who is told how far it is.
    pub progress: &'a Progress,
}

/// What a run covered, and what it found.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Configurations of the family.
    pub configurations: u64,
    /// Inputs at which a map was evaluated.
    pub inputs: u64,
    /// States that were reached.
    pub states: u64,
    /// Steps that were taken from them.
    pub transitions: u64,
    /// Sum over all outputs, each weighed with its input: two runs that differ anywhere differ here.
    pub checksum: u64,
    /// What was measured, in words.
    pub measured: Vec<String>,
    /// Claims that did not hold, with the input or the way to the state.
    pub findings: Vec<String>,
    /// Wall-clock time.
    pub seconds: f64,
}

impl Outcome {
    /// Takes another configuration's outcome in.
    pub fn add(&mut self, other: Self) {
        self.configurations += other.configurations;
        self.inputs += other.inputs;
        self.states += other.states;
        self.transitions += other.transitions;
        self.checksum = self.checksum.wrapping_add(other.checksum);
        self.measured.extend(other.measured);
        self.findings.extend(other.findings);
    }

    /// Sets the time that it took.
    pub fn timed(mut self, took: Duration) -> Self {
        self.seconds = took.as_secs_f64();
        self
    }
}

/// One entry of the catalogue.
pub struct Proof {
    /// Name on the command line.
    pub name: &'static str,
    /// Room and file of the block, as `guard/neutral_start`.
    pub block: &'static str,
    /// How it covers.
    pub kind: Kind,
    /// Which configurations are gone through.
    pub family: &'static str,
    /// What is claimed, one sentence each.
    pub claims: Vec<&'static str>,
    /// Does it.
    pub run: fn(&Bench<'_>) -> Outcome,
}
