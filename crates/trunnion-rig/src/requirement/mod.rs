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
pub use vocabulary::{Constant, Signal, Vocabulary};
