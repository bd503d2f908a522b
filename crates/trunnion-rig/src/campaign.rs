//! Fault campaigns: every way in which a signal can fail, in every state of a machine, and what is expected there.
//!
//! | part | job |
//! |---|---|
//! | [`Cell`] | one signal, one way to fail, one state of the machine |
//! | [`cells`] | all of them, from what a plant can break |
//! | [`Rule`] | what a machine declares for many cells at once |
//! | [`Expectations`] | the rules, checked: one expectation for each cell and no rule in vain |
//!
//! Cells are listed and judged by rules here; nothing runs them yet.

mod cell;
mod expectation;
mod mistake;

pub use cell::{Cell, cells};
pub use expectation::{Expectation, Expectations, Rule};
pub use mistake::RuleMistake;
