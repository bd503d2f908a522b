//! What a machine is told once, when it starts.

use crate::declare::ParameterSet;

crate::choices! {
    /// Why the controller started.
    pub enum ResetCause {
        /// Supply came up.
        PowerUp = "power_up",
        /// Supply dipped below what the processor needs.
        BrownOut = "brown_out",
        /// The watchdog was not kicked in time.
        Watchdog = "watchdog",
    }
}

/// What a machine is told once, when it starts: with the inputs that follow it determines the whole run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Boot<P: ParameterSet> {
    /// Stored parameters.
    pub parameters: P,
    /// Why the controller started.
    pub cause: ResetCause,
    /// Serial number of the unit.
    pub serial: u32,
    /// Bits from the hardware's noise source.
    pub entropy: u32,
}
