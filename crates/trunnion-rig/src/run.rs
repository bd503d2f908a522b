//! Runs: a machine on its plant through a scenario.
//!
//! A tick of the machine's period goes in this order, on the host as on the controller:
//!
//! 1. what the scenario does at this time: parameter writes, breaks and mends, then the operator's controls;
//! 2. [`FAST_STEPS`](trunnion::machine::Machine::FAST_STEPS) times: the plant is measured, the fast loop steps,
//!    the plant moves on by one fast step;
//! 3. the plant is read once, the machine steps, its set-points are latched;
//! 4. the tick becomes a row of the [trace](crate::trace), the requirements see it, the hash takes it, and
//!    whoever [watches](Rig::run_watched) is shown it.
//!
//! Everything random comes from the scenario's seed, so the same scenario gives the same bits every time and
//! everywhere.

mod controls;
mod plan;
mod plant;
mod result;
mod rig;
mod session;
mod values;
mod way;

pub use plant::{ActionInfo, BreakInfo, ObservationInfo, OnTheBus, Plant};
pub use result::{EventRecord, RequirementResult, Run};
pub use rig::{Rig, RigError};
pub use session::{Session, Tick, Twins};
pub use way::Way;

#[cfg(feature = "hunt")]
pub(crate) use plan::Change;
