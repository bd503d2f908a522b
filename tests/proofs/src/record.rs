//! What a run covered: kept line by line while it runs, and written as one record at its end.

mod keeper;
mod markdown;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

pub use keeper::Keeper;
pub use markdown::{CASES, PATH, write};

use crate::{
    campaign::{Done, Property},
    proof::{Kind, Outcome},
};

/// A proof that was run, and its outcome.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Name on the command line.
    pub name: String,
    /// Room and file of the block.
    pub block: String,
    /// How it covers.
    pub kind: Kind,
    /// Which configurations were gone through.
    pub family: String,
    /// What was covered and found.
    #[serde(flatten)]
    pub outcome: Outcome,
}

/// A property and how far it is.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Counted {
    /// Package and test.
    pub name: String,
    /// Room and file of the block.
    pub block: String,
    /// Cases that held.
    pub cases: u64,
    /// Time on one core.
    pub seconds: f64,
}

/// All that was covered.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// The compiler.
    pub toolchain: String,
    /// Hash of the sources.
    pub sources: String,
    /// Sweeps and walks that were not run yet.
    pub left: Vec<String>,
    /// Sweeps and walks.
    pub proofs: Vec<Entry>,
    /// Properties.
    pub properties: Vec<Counted>,
}

impl Record {
    /// Properties that have fewer cases than were asked for.
    pub fn short_of(&self, cases: u64) -> usize {
        self.properties.iter().filter(|property| property.cases < cases).count()
    }
}

/// Each property with what was done for it.
pub fn counted(properties: &[Property], done: &BTreeMap<String, Done>) -> Vec<Counted> {
    let of = |property: &Property| {
        let Done { cases, seconds } = done.get(&property.name).cloned().unwrap_or_default();
        Counted { name: property.name.clone(), block: property.block.clone(), cases, seconds }
    };
    properties.iter().map(of).collect()
}
