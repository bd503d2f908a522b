//! Config of a coil, and what is wrong with it.

use core::fmt;

use super::super::{
    CoilMonitorConfigError, CurrentLoopConfig, CurrentLoopConfigError, DitherConfig, DitherConfigError,
};
use crate::quantity::{Milliamps, Millis, Permille};

/// A coil, how it is driven and how it is watched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilConfig {
    /// The coil and its current loop.
    pub control: CurrentLoopConfig,
    /// Its dither.
    pub dither: DitherConfig,
    /// Time over which the watch averages: whole periods of the PWM, and of the dither unless that has no
    /// amplitude.
    pub averaging: Millis,
    /// Allowed error of the current, share of the set-point.
    pub tolerance: Permille,
    /// Allowed error of the current beside that.
    pub offset: Milliamps,
    /// Current from which a coil at zero command counts as driven by something else.
    pub stray: Milliamps,
}

/// Why a [`CoilConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CoilConfigError {
    /// The current loop.
    Control(CurrentLoopConfigError),
    /// The dither.
    Dither(DitherConfigError),
    /// The watch.
    Monitor(CoilMonitorConfigError),
    /// The averaging time is not a whole number of dither cycles.
    AveragingSplitsDither {
        /// Refused averaging time.
        averaging: Millis,
        /// Dither cycle given with it.
        cycle: Millis,
    },
}

impl fmt::Display for CoilConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Control(error) => error.fmt(f),
            Self::Dither(error) => error.fmt(f),
            Self::Monitor(error) => error.fmt(f),
            Self::AveragingSplitsDither { averaging, cycle } => {
                write!(f, "averaging time {averaging} is not a whole number of dither cycles of {cycle}")
            }
        }
    }
}

impl core::error::Error for CoilConfigError {}
