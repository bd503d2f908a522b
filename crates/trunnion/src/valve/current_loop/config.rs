//! Config of the current loop, and what is wrong with it.

use core::fmt;

use super::{micros, quotient};
use crate::quantity::{Centiohms, Milliamps, Millis, Millivolts, Period};

/// A coil and how its current is controlled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CurrentLoopConfig {
    /// Resistance of the coil at 20 °C, 0.5 to 100 Ω.
    pub resistance: Centiohms,
    /// L/R of the coil at 20 °C, 1 to 50 ms.
    pub time_constant: Millis,
    /// Voltage for each ampere that is missing; about the resistance. At most half of what one period turns
    /// into the missing current: `0.5 · L / period`.
    pub proportional: Centiohms,
    /// Time in which a lasting error adds the proportional voltage once more, from one time constant to 1 s;
    /// about two time constants.
    pub integral_time: Millis,
    /// Lowest plausible supply; lower readings are held here.
    pub lowest_supply: Millivolts,
    /// Highest plausible supply; higher readings are held here, and it is assumed when there is no reading.
    pub highest_supply: Millivolts,
    /// Largest current; larger set-points are held here. 1 mA to 5 A.
    pub largest: Milliamps,
}

/// Why a [`CurrentLoopConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CurrentLoopConfigError {
    /// The resistance is outside 0.5 to 100 Ω.
    Resistance(Centiohms),
    /// The time constant is outside 1 to 50 ms.
    TimeConstant(Millis),
    /// The proportional gain is zero or above the largest that damps.
    Proportional {
        /// Refused gain.
        given: Centiohms,
        /// Largest gain for this coil and period.
        largest: Centiohms,
    },
    /// The integral time is shorter than the time constant or above 1 s.
    IntegralTime {
        /// Refused time.
        given: Millis,
        /// Shortest time for this coil.
        shortest: Millis,
    },
    /// The lowest supply is zero or not below the highest.
    Supply {
        /// Refused lowest supply.
        lowest: Millivolts,
        /// Highest supply given with it.
        highest: Millivolts,
    },
    /// The largest current is zero or above 5 A.
    Largest(Milliamps),
}

impl fmt::Display for CurrentLoopConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Resistance(given) => {
                write!(f, "coil resistance {} cΩ is outside 50 to 10000 cΩ", given.raw())
            }
            Self::TimeConstant(given) => write!(f, "coil time constant {given} is outside 1 to 50 ms"),
            Self::Proportional { given, largest } => write!(
                f,
                "proportional gain {} cΩ is outside 1 to {} cΩ for this coil: a larger one would ring",
                given.raw(),
                largest.raw()
            ),
            Self::IntegralTime { given, shortest } => {
                write!(f, "integral time {given} is outside {shortest} (the time constant) to 1000 ms")
            }
            Self::Supply { lowest, highest } => write!(
                f,
                "lowest plausible supply {} mV must be above zero and below the highest, {} mV",
                lowest.raw(),
                highest.raw()
            ),
            Self::Largest(given) => write!(f, "largest current {} mA is outside 1 to 5000 mA", given.raw()),
        }
    }
}

impl core::error::Error for CurrentLoopConfigError {}

/// Whether the config can work with this period.
pub(super) const fn check(config: &CurrentLoopConfig, period: Period) -> Result<(), CurrentLoopConfigError> {
    let CurrentLoopConfig { resistance, time_constant, proportional, integral_time, .. } = *config;
    let (lowest, highest) = (config.lowest_supply, config.highest_supply);
    if resistance.raw() < 50 || resistance.raw() > 10_000 {
        return Err(CurrentLoopConfigError::Resistance(resistance));
    }
    if time_constant.ticks() < 1 || time_constant.ticks() > 50 {
        return Err(CurrentLoopConfigError::TimeConstant(time_constant));
    }
    let inductance = micros(time_constant).wrapping_mul(resistance.raw() as i64);
    let largest = Centiohms::saturating(quotient(inductance, (period.micros() as i64).wrapping_mul(2)));
    let largest = largest.at_most(Centiohms::saturating(10_000));
    if proportional.raw() == 0 || proportional.raw() > largest.raw() {
        return Err(CurrentLoopConfigError::Proportional { given: proportional, largest });
    }
    if integral_time.ticks() < time_constant.ticks() || integral_time.ticks() > 1000 {
        return Err(CurrentLoopConfigError::IntegralTime { given: integral_time, shortest: time_constant });
    }
    if lowest.raw() == 0 || lowest.raw() >= highest.raw() {
        return Err(CurrentLoopConfigError::Supply { lowest, highest });
    }
    if config.largest.raw() == 0 || config.largest.raw() > 5_000 {
        return Err(CurrentLoopConfigError::Largest(config.largest));
    }
    Ok(())
}
