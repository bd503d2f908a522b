//! A sensor whose voltage is a share of its own supply.

use super::{Flaw, Reading};
use crate::quantity::{Millivolts, Permille, Ratio};

/// Bands of a [`RatiometricSensor`].
///
/// The four shares of the sensor supply ascend: below `low_fault` and above `high_fault` the wiring is at
/// fault; `low` to `high` is the span; the bands between are under- and over-range, where the reading stays
/// valid and rests at the end of the span.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RatiometricSensorConfig {
    /// Below this share: wire break or short to ground. 0 ‰ or more.
    pub low_fault: Permille,
    /// Lower end of the span.
    pub low: Permille,
    /// Upper end of the span.
    pub high: Permille,
    /// Above this share: short to supply. 1000 ‰ or less.
    pub high_fault: Permille,
    /// Lowest sensor supply that the sensor measures with, above 0 V.
    pub supply_low: Millivolts,
    /// Highest sensor supply that the sensor measures with.
    pub supply_high: Millivolts,
}

/// Why a [`RatiometricSensorConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum RatiometricSensorConfigError {
    /// `low_fault` is below 0 ‰.
    LowFaultNegative {
        /// What was asked for.
        value: Permille,
    },
    /// `low` is not above `low_fault`.
    LowNotAboveLowFault {
        /// What was asked for.
        value: Permille,
        /// It must be above this.
        low_fault: Permille,
    },
    /// `high` is not above `low`.
    HighNotAboveLow {
        /// What was asked for.
        value: Permille,
        /// It must be above this.
        low: Permille,
    },
    /// `high_fault` is not above `high`.
    HighFaultNotAboveHigh {
        /// What was asked for.
        value: Permille,
        /// It must be above this.
        high: Permille,
    },
    /// `supply_low` is zero.
    SupplyLowZero,
    /// `supply_high` is not above `supply_low`.
    SupplyHighNotAboveLow {
        /// What was asked for.
        value: Millivolts,
        /// It must be above this.
        supply_low: Millivolts,
    },
}

impl core::fmt::Display for RatiometricSensorConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::LowFaultNegative { value } => {
                write!(formatter, "low_fault is {} ‰; it must be 0 ‰ or more", value.raw())
            }
            Self::LowNotAboveLowFault { value, low_fault } => {
                write!(
                    formatter,
                    "low is {} ‰; it must be above low_fault, {} ‰",
                    value.raw(),
                    low_fault.raw()
                )
            }
            Self::HighNotAboveLow { value, low } => {
                write!(formatter, "high is {} ‰; it must be above low, {} ‰", value.raw(), low.raw())
            }
            Self::HighFaultNotAboveHigh { value, high } => {
                write!(formatter, "high_fault is {} ‰; it must be above high, {} ‰", value.raw(), high.raw())
            }
            Self::SupplyLowZero => write!(formatter, "supply_low is 0 mV; it must be 1 mV or more"),
            Self::SupplyHighNotAboveLow { value, supply_low } => write!(
                formatter,
                "supply_high is {} mV; it must be above supply_low, {} mV",
                value.raw(),
                supply_low.raw()
            ),
        }
    }
}

impl core::error::Error for RatiometricSensorConfigError {}

/// A sensor whose voltage is a share of its own supply, 0.5–4.5 V of 5 V as a rule.
///
/// Gives the position within the span, 0 to 1, rounded to nearest; [`Span`](super::Span) makes a quantity
/// of it. A sensor supply outside its range faults the reading first, since the signal then says nothing.
/// A band limit itself belongs to the valid side. Remembers nothing: the fault table debounces.
///
/// ```
/// use trunnion::quantity::{Millivolts, Permille, Ratio};
/// use trunnion::sense::{Flaw, RatiometricSensor, RatiometricSensorConfig, Reading};
///
/// let charge_pressure = RatiometricSensor::new(RatiometricSensorConfig {
///     low_fault: Permille::new(40).unwrap(), // 0.2 V of 5 V
///     low: Permille::new(100).unwrap(),      // 0.5 V
///     high: Permille::new(900).unwrap(),     // 4.5 V
///     high_fault: Permille::new(960).unwrap(), // 4.8 V
///     supply_low: Millivolts::new(4_750).unwrap(),
///     supply_high: Millivolts::new(5_250).unwrap(),
/// })
/// .unwrap();
/// let supply = Millivolts::new(5_000).unwrap();
///
/// let half = charge_pressure.step(Millivolts::new(2_500).unwrap(), supply);
/// assert_eq!(half, Reading::Valid(Ratio::from_permille(500).unwrap()));
/// let unplugged = charge_pressure.step(Millivolts::ZERO, supply);
/// assert_eq!(unplugged, Reading::Faulted(Flaw::WireBreak));
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RatiometricSensor {
    config: RatiometricSensorConfig,
}

impl RatiometricSensor {
    /// Refuses bands that do not ascend and a supply range that is empty.
    pub const fn new(config: RatiometricSensorConfig) -> Result<Self, RatiometricSensorConfigError> {
        use RatiometricSensorConfigError::*;
        let RatiometricSensorConfig { low_fault, low, high, high_fault, supply_low, supply_high } = config;
        if low_fault.raw() < 0 {
            return Err(LowFaultNegative { value: low_fault });
        }
        if low.raw() <= low_fault.raw() {
            return Err(LowNotAboveLowFault { value: low, low_fault });
        }
        if high.raw() <= low.raw() {
            return Err(HighNotAboveLow { value: high, low });
        }
        if high_fault.raw() <= high.raw() {
            return Err(HighFaultNotAboveHigh { value: high_fault, high });
        }
        if supply_low.raw() == 0 {
            return Err(SupplyLowZero);
        }
        if supply_high.raw() <= supply_low.raw() {
            return Err(SupplyHighNotAboveLow { value: supply_high, supply_low });
        }
        Ok(Self { config })
    }

    /// Takes new bands as a whole or refuses them as a whole.
    pub fn reconfigure(
        &mut self,
        config: RatiometricSensorConfig,
    ) -> Result<(), RatiometricSensorConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// Share of the span, 0 to 1, or the flaw.
    pub const fn step(&self, signal: Millivolts, sensor_supply: Millivolts) -> Reading<Ratio> {
        let config = &self.config;
        if sensor_supply.raw() < config.supply_low.raw() || sensor_supply.raw() > config.supply_high.raw() {
            return Reading::Faulted(Flaw::SensorSupply);
        }
        // Compared by cross-multiplication: no rounding stands between a signal and its band.
        let signal = (signal.raw() as i64).wrapping_mul(1000);
        let supply = sensor_supply.raw() as i64;
        if signal < share(config.low_fault, supply) {
            return Reading::Faulted(Flaw::WireBreak);
        }
        if signal > share(config.high_fault, supply) {
            return Reading::Faulted(Flaw::ShortCircuit);
        }
        let above_low = signal.wrapping_sub(share(config.low, supply));
        let span = share(config.high.minus(config.low), supply);
        Reading::Valid(Ratio::from_quotient(above_low, span).at_least(Ratio::ZERO))
    }
}

/// Thousandths of a millivolt: at most 1000 · 65 535, so that the product cannot wrap.
const fn share(of_supply: Permille, supply_millivolts: i64) -> i64 {
    (of_supply.raw() as i64).wrapping_mul(supply_millivolts)
}
