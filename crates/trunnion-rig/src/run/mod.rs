//! Under construction.

mod controls;
mod plan;
mod plant;
mod result;
mod rig;
mod session;
mod values;

pub use plant::{ActionInfo, BreakInfo, ObservationInfo, Plant};
pub use result::{EventRecord, RequirementResult, Run};
pub use rig::{Rig, RigError};
pub use session::{Session, Tick};
