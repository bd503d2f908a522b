//! Under construction.

mod bind;
mod condition;
mod explain;
mod expression;
mod measure;
mod monitor;
mod names;
mod parse;
mod print;
mod robustness;
mod sliding;
mod stream;
mod verdict;
mod vocabulary;

pub use explain::{Evidence, Explanation};
pub use expression::{
    Arithmetic, Duration, DurationTerm, Edge, Expression, Function, Join, Node, Prefix, Relation,
};
pub use monitor::{Judgement, Monitor, Verdict};
pub(crate) use parse::RESERVED;
pub use vocabulary::{Constant, Signal, Vocabulary};
pub(crate) use vocabulary::{choice_word, show_number};

/// A requirement of a machine, declared beside its control program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Requirement {
    /// Short name, unique in the machine.
    pub id: &'static str,
    /// What it asks, for a reader.
    pub sentence: &'static str,
    /// The hazard it answers.
    pub hazard: &'static str,
    /// What it asks, for the monitor.
    pub formula: &'static str,
}
