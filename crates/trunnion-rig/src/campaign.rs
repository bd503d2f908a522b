//! Fault campaigns: every way in which a signal can fail, in every state of a machine, and what is expected there.
//!
//! | part | job |
//! |---|---|
//! | [`Cell`] | one signal, one way to fail, one state of the machine |
//! | [`cells`] | all of them, from what a plant can break |
//! | [`Rule`] | what a machine declares for many cells at once |
//! | [`Likely`] | from a fault back to what may have broken |
//! | [`Together`] | what it declares for two failures at once |
//! | [`Expectations`] | the rules, checked: one expectation for each cell and no rule in vain |
//! | [`State`] | what the machine is doing when something breaks, and how it comes there |
//! | [`Measured`] | what became of it: faults, violated requirements, how far the machine moved |
//! | `run`, `CellResult` (feature `hunt`) | all cells or pairs, on all processors, each branched off a copy of its state |
//!
//! A cell goes in three parts, beside a sound machine that is told the same: 3 s broken, 1 s mended while the levers are
//! still held, 2 s with levers let go and permission asked for anew. Permission that comes with a lever held is wrong
//! whatever is declared; so is permission that does not come back, but for faults that only a restart clears.
//!
//! A pair is two cells at once. What is expected of it follows from the two: one of the answers that the machine owes comes in
//! time, and nothing comes along that neither may bring: requirements and deviations in this state, faults in any. What the
//! two may bring together only is declared.

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
mod pair;
#[cfg(feature = "hunt")]
mod runner;
mod state;
#[cfg(feature = "hunt")]
mod task;
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
pub use pair::{OneThing, Together};
#[cfg(feature = "hunt")]
pub use runner::{Campaign, CampaignError, needless_excuses, run};
pub use state::{Allowed, Charter, Group, LET_GO_AFTER_MS, Limb, MEND_AFTER_MS, Path, State, WATCHED_MS};
