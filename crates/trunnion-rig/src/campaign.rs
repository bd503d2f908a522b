//! Fault campaigns: every way in which a signal can fail, in every state of a machine, and what is expected there.
//!
//! | part | job |
//! |---|---|
//! | [`Cell`] | one signal, one way to fail, one state of the machine |
//! | [`cells`] | all of them, from what a plant can break |
//! | [`Rule`] | what a machine declares for many cells at once |
//! | [`Expectations`] | the rules, checked: one expectation for each cell and no rule in vain |
//!
//! | [`State`] | what the machine is doing when something breaks, and how it comes there |
//! | [`Measured`] | what became of it: faults, violated requirements, how far the machine moved |
//! | `run`, `CellResult` (feature `hunt`) | all cells, on all processors, each branched off a copy of its state |

mod cell;
mod expectation;
mod mistake;
#[cfg(feature = "hunt")]
mod runner;
mod state;

pub use cell::{Cell, cells};
pub use expectation::{Expectation, Expectations, Rule};
pub use mistake::RuleMistake;
#[cfg(feature = "hunt")]
pub use runner::{CampaignError, CellResult, Order, run};
pub use state::{Allowed, Charter, Group, MEND_AFTER_MS, Measured, State, WATCHED_MS};
