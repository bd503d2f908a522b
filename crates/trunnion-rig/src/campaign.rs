//! Fault campaigns: every way in which a signal can fail, in every state of a machine, and what is expected there.
//!
//! | part | job |
//! |---|---|
//! | [`Cell`] | one signal, one way to fail, one state of the machine |
//! | [`cells`] | all of them, from what a plant can break |
//! | [`Rule`] | what a machine declares for many cells at once |
//! | [`Likely`] | from a fault back to what may have broken |
//! | [`Expectations`] | the rules, checked: one expectation for each cell and no rule in vain |
//! | [`State`] | what the machine is doing when something breaks, and how it comes there |
//! | [`Measured`] | what became of it: faults, violated requirements, how far the machine moved |
//! | `run`, `CellResult` (feature `hunt`) | all cells, on all processors, each branched off a copy of its state |
//!
//! A cell goes in three parts, beside a sound machine that is told the same: 3 s broken, 1 s mended while the levers are
//! still held, 2 s with levers let go and permission asked for anew. Permission that comes with a lever held is wrong
//! whatever is declared; so is permission that does not come back, but for faults that only a restart clears.

mod cell;
#[cfg(feature = "hunt")]
mod entered;
mod expectation;
#[cfg(feature = "hunt")]
mod eyes;
#[cfg(feature = "hunt")]
mod judge;
mod likely;
mod measured;
mod mistake;
#[cfg(feature = "hunt")]
mod order;
#[cfg(feature = "hunt")]
mod runner;
mod state;
#[cfg(feature = "hunt")]
mod walker;
#[cfg(feature = "hunt")]
mod watch;

pub use cell::{Cell, cells};
pub use expectation::{Expectation, Expectations, Rule};
#[cfg(feature = "hunt")]
pub use judge::CellResult;
pub use likely::Likely;
pub use measured::{DEVIATIONS, Measured};
pub use mistake::RuleMistake;
#[cfg(feature = "hunt")]
pub use order::Order;
#[cfg(feature = "hunt")]
pub use runner::{Campaign, CampaignError, needless_excuses, run};
pub use state::{Allowed, Charter, Group, LET_GO_AFTER_MS, Limb, MEND_AFTER_MS, Path, State, WATCHED_MS};
