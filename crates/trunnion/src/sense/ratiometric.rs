//! A sensor whose voltage is a share of its own supply.

use super::{Flaw, Reading};
use crate::quantity::{Millivolts, Permille, Ratio};

/// Bands of a [`RatiometricSensor`].
///
/// The four shares of the sensor supply ascend: below `low_fault` and above `high_fault` the wiring is at
/// fault; `low` to `high` is the span; the bands between are under- and over-range, where the reading stays
/// valid and rests at the end of the span.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
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
#[doc = include_str!("../../docs/sense-ratiometric_sensor.svg")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct RatiometricSensor {
    config: RatiometricSensorConfig,
}

impl RatiometricSensor {
    /// Refuses bands that do not ascend and a supply range that is empty.
    ///
    /// # Errors
    ///
    /// [`RatiometricSensorConfigError`]: which rule the config breaks, with its value.
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
    ///
    /// # Errors
    ///
    /// [`RatiometricSensorConfigError`], as for `new`; everything then stays as it was.
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;

    fn permille(raw: i16) -> Permille {
        Permille::new(raw).unwrap()
    }

    fn millivolts(raw: u16) -> Millivolts {
        Millivolts::new(raw).unwrap()
    }

    /// 0.5–4.5 V of 5 V, faulted outside 0.2 and 4.8 V: bands from a sensor maker's tutorial, common
    /// practice.
    fn common_bands() -> RatiometricSensorConfig {
        RatiometricSensorConfig {
            low_fault: permille(40),
            low: permille(100),
            high: permille(900),
            high_fault: permille(960),
            supply_low: millivolts(4_500),
            supply_high: millivolts(5_500),
        }
    }

    #[test]
    fn the_bands_of_a_half_to_four_and_a_half_volt_sensor_are_told_apart() {
        let sensor = RatiometricSensor::new(common_bands()).unwrap();
        let at = |signal| sensor.step(millivolts(signal), millivolts(5_000));
        assert_eq!(at(199), Reading::Faulted(Flaw::WireBreak));
        assert_eq!(at(200), Reading::Valid(Ratio::ZERO));
        assert_eq!(at(500), Reading::Valid(Ratio::ZERO));
        assert_eq!(at(1_500), Reading::Valid(Ratio::from_permille(250).unwrap()));
        assert_eq!(at(4_500), Reading::Valid(Ratio::ONE));
        assert_eq!(at(4_800), Reading::Valid(Ratio::ONE));
        assert_eq!(at(4_801), Reading::Faulted(Flaw::ShortCircuit));
    }

    #[test]
    fn a_supply_outside_its_range_comes_before_any_other_flaw() {
        let sensor = RatiometricSensor::new(common_bands()).unwrap();
        for (supply, usable) in [(4_499, false), (4_500, true), (5_500, true), (5_501, false), (0, false)] {
            let reading = sensor.step(millivolts(2_500), millivolts(supply));
            assert_eq!(reading.is_valid(), usable, "{supply} mV");
            assert_eq!(reading.flaw(), (!usable).then_some(Flaw::SensorSupply));
        }
        assert_eq!(sensor.step(Millivolts::ZERO, Millivolts::ZERO), Reading::Faulted(Flaw::SensorSupply));
    }

    #[test]
    fn each_broken_rule_is_refused_by_name_and_leaves_the_sensor_as_it_was() {
        let good = common_bands();
        let broken = [
            (
                RatiometricSensorConfig { low_fault: permille(-1), ..good },
                "low_fault is -1 ‰; it must be 0 ‰ or more",
            ),
            (
                RatiometricSensorConfig { low: permille(40), ..good },
                "low is 40 ‰; it must be above low_fault, 40 ‰",
            ),
            (
                RatiometricSensorConfig { high: permille(100), ..good },
                "high is 100 ‰; it must be above low, 100 ‰",
            ),
            (
                RatiometricSensorConfig { high_fault: permille(900), ..good },
                "high_fault is 900 ‰; it must be above high, 900 ‰",
            ),
            (
                RatiometricSensorConfig { supply_low: millivolts(0), ..good },
                "supply_low is 0 mV; it must be 1 mV or more",
            ),
            (
                RatiometricSensorConfig { supply_high: millivolts(4_500), ..good },
                "supply_high is 4500 mV; it must be above supply_low, 4500 mV",
            ),
        ];
        let mut sensor = RatiometricSensor::new(good).unwrap();
        for (config, message) in broken {
            assert_eq!(sensor.reconfigure(config).unwrap_err().to_string(), message);
            assert_eq!(sensor.config, good);
        }
    }

    proptest! {
        #[test]
        fn a_reading_is_valid_exactly_between_the_fault_bands(signal: u16, supply in 4_500_u16..=5_500) {
            let reading = RatiometricSensor::new(common_bands()).unwrap().step(millivolts(signal), millivolts(supply));
            let (signal, supply) = (u64::from(signal) * 1000, u64::from(supply));
            prop_assert_eq!(reading.is_valid(), signal >= 40 * supply && signal <= 960 * supply);
            if let Some(share) = reading.valid() {
                prop_assert!(share >= Ratio::ZERO);
            }
        }

        #[test]
        fn more_voltage_never_reads_less(a: u16, b: u16, supply in 4_500_u16..=5_500) {
            let sensor = RatiometricSensor::new(common_bands()).unwrap();
            let at = |signal| sensor.step(millivolts(signal), millivolts(supply)).valid();
            if let (Some(low), Some(high)) = (at(a.min(b)), at(a.max(b))) {
                prop_assert!(low <= high);
            }
        }

        #[test]
        fn the_sensor_supply_cancels_out(signal in 500_u16..=2_500, supply in 2_000_u16..=3_000) {
            let config = RatiometricSensorConfig { supply_low: millivolts(1), supply_high: millivolts(9_000), ..common_bands() };
            let sensor = RatiometricSensor::new(config).unwrap();
            prop_assert_eq!(
                sensor.step(millivolts(signal), millivolts(supply)),
                sensor.step(millivolts(3 * signal), millivolts(3 * supply))
            );
        }
    }

    four_verbs! {
        new: RatiometricSensor::new,
        configs: (common_bands(), RatiometricSensorConfig { low_fault: permille(20), low: permille(50), high: permille(950), high_fault: permille(980), supply_low: millivolts(4750), supply_high: millivolts(5250) }),
        accepted: [
            RatiometricSensorConfig { low_fault: permille(0), ..common_bands() },
            RatiometricSensorConfig { low: permille(41), ..common_bands() },
            RatiometricSensorConfig { high: permille(101), ..common_bands() },
            RatiometricSensorConfig { high_fault: permille(901), ..common_bands() },
            RatiometricSensorConfig { supply_low: millivolts(1), ..common_bands() },
            RatiometricSensorConfig { supply_high: millivolts(4501), ..common_bands() },
        ],
        refused: [
            RatiometricSensorConfig { low_fault: permille(-1), ..common_bands() } => "low_fault is -1 ‰; it must be 0 ‰ or more",
            RatiometricSensorConfig { low: permille(40), ..common_bands() } => "low is 40 ‰; it must be above low_fault, 40 ‰",
            RatiometricSensorConfig { high: permille(100), ..common_bands() } => "high is 100 ‰; it must be above low, 100 ‰",
            RatiometricSensorConfig { high_fault: permille(900), ..common_bands() } => "high_fault is 900 ‰; it must be above high, 900 ‰",
            RatiometricSensorConfig { supply_low: millivolts(0), ..common_bands() } => "supply_low is 0 mV; it must be 1 mV or more",
            RatiometricSensorConfig { supply_high: millivolts(4500), ..common_bands() } => "supply_high is 4500 mV; it must be above supply_low, 4500 mV",
        ],
        inputs: (0_u16..5_500, 4_400_u16..5_600),
        step: |block, (signal, supply)| block.step(millivolts(signal), millivolts(supply)),
    }
}
