//! What a machine is told once, when it starts.

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
pub struct Boot<P> {
    /// Stored parameters; the defaults when they were `damaged`.
    pub parameters: P,
    /// The stored parameters could not be read, and these are the defaults: the machine says so by a fault.
    pub damaged: bool,
    /// Why the controller started.
    pub cause: ResetCause,
    /// Serial number of the unit.
    pub serial: u32,
    /// Bits from the hardware's noise source.
    pub entropy: u32,
    /// Number of this start, counted in flash before the machine runs.
    pub starts: u32,
    /// Wrong access codes since the last right one, from flash; the largest number when that was damaged.
    pub wrong_codes: u32,
}
