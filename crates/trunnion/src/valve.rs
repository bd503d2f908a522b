//! From a command to a coil current, and from that to the share of time that the coil is switched on.
//!
//! ```text
//!  command ─► CurrentMap ─► set-point ─► PairExclusion ─► Dither ─► CurrentLoop ─► duty ─► ProportionalOutput
//!                                              ▲                         ▲   │
//!                                       measured current ────────────────┴───┴─► CoilMonitor ─► conditions
//! ```
//!
//! | block | does |
//! |---|---|
//! | [`CurrentMap`] | command to current, in the control loop |
//! | [`PairExclusion`] | never both coils of a spool |
//! | [`Dither`] | keeps a spool from sticking |
//! | [`CurrentLoop`] | holds the current of a coil |
//! | [`CoilMonitor`] | tells open, short and wrong current |
//! | [`Coil`] | the fast parts of one coil |
//! | [`CoilPair`] | those of two opposite coils |
//! | [`CoilBank`] | the whole fast loop of a machine |
//! | [`ExcessCurrent`] | looks over all of its coils |
//! | [`TestPulse`] | looks for open coils at start-up, because they cannot be seen at zero duty |
//! | [`StartUpTest`] | puts the test of the supply's cut-off before it |
//! | [`PeakAndHold`] | drives a coil that is either on or off |
//! | [`ProportionalOutput`], [`SwitchedOutput`] | write to the pins of a board |
//!
//! Everything after the map runs in the fast loop.

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
