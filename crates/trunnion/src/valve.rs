//! From a command to a coil current, and from that to the share of time that the coil is switched on.
//!
//! ```text
//!  command ─► CurrentMap ─► set-point ─► PairExclusion ─► Dither ─► CurrentLoop ─► duty ─► ProportionalOutput
//!                                              ▲                         ▲   │
//!                                       measured current ────────────────┴───┴─► CoilMonitor ─► conditions
//! ```
//!
//! [`CurrentMap`] runs in the control loop, everything after it in the fast loop. [`Coil`] and [`CoilPair`]
//! join the fast parts of one coil and of two opposite coils of a spool; [`TestPulse`] looks for open coils at
//! start-up, because an open coil cannot be seen at zero duty; [`StartUpTest`] puts the test of the supply's cut-off
//! before it. [`CoilBank`] is the whole fast loop of a machine, and [`ExcessCurrent`] looks over all of its coils.
//!
//! [`PeakAndHold`] drives a coil that is either on or off.

mod coil;
mod coil_bank;
#[cfg(test)]
pub(crate) mod coil_model;
mod coil_monitor;
mod coil_pair;
mod coil_table;
mod current_loop;
mod current_map;
mod dither;
mod excess_current;
mod pair_exclusion;
mod peak_and_hold;
mod proportional_output;
mod start_up_test;
mod switched_output;
mod test_pulse;

pub use coil::{Coil, CoilConfig, CoilConfigError, CoilReport};
pub use coil_bank::{CoilBank, CoilBankError, CoilRecords};
pub use coil_monitor::{CoilConditions, CoilMonitor, CoilMonitorConfig, CoilMonitorConfigError};
pub use coil_pair::{CoilPair, CoilPairConfig, CoilPairConfigError};
pub use current_loop::{CurrentLoop, CurrentLoopConfig, CurrentLoopConfigError};
pub use current_map::{CurrentMap, CurrentMapConfig, CurrentMapConfigError};
pub use dither::{Dither, DitherConfig, DitherConfigError};
pub use excess_current::ExcessCurrent;
pub use pair_exclusion::{PairExclusion, PairExclusionConfig, PairExclusionConfigError};
pub use peak_and_hold::{PeakAndHold, PeakAndHoldConfig, PeakAndHoldConfigError};
pub use proportional_output::ProportionalOutput;
pub use start_up_test::{StartUpState, StartUpTest, StartUpTestConfig, StartUpTestConfigError};
pub use switched_output::{ActiveLevel, SwitchedOutput};
pub use test_pulse::{TestPulse, TestPulseConfig, TestPulseConfigError, TestPulseState};
