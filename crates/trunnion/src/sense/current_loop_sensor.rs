//! A transmitter that sends its value as a current.

use super::{Flaw, Reading};
use crate::quantity::{Centiohms, Divisor, Microamps, Millis, Millivolts, Ratio, product};

/// Currents that tell a value from a fault.
///
/// They ascend: below `low_fault` and above `high_fault` the transmitter or its wiring is at fault; `low` to
/// `high` is the span; the bands between are under- and over-range, where the reading stays valid and rests at
/// the end of the span.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LoopBands {
    /// Below this current: wire break, transmitter without supply, or its own report of a fault.
    pub low_fault: Microamps,
    /// Lower end of the span.
    pub low: Microamps,
    /// Upper end of the span.
    pub high: Microamps,
    /// Above this current: short circuit, or the transmitter's own report of a fault.
    pub high_fault: Microamps,
}

impl LoopBands {
    /// 4–20 mA, faulted below 3.6 mA and above 21.0 mA (NAMUR NE 43 as quoted publicly; the recommendation
    /// itself was not seen). It measures from 3.8 to 20.5 mA; what lies between that and a fault is neither,
    /// and counts as over-range here.
    pub const NAMUR_NE_43: Self = Self {
        low_fault: Microamps::saturating(3_600),
        low: Microamps::saturating(4_000),
        high: Microamps::saturating(20_000),
        high_fault: Microamps::saturating(21_000),
    };
}

/// Bands and shunt of a [`CurrentLoopSensor`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CurrentLoopSensorConfig {
    /// Resistance over which the input measures, 10 to 600 Ω: its drop at `high_fault` stays below 65.5 V.
    pub shunt: Centiohms,
    /// Currents that tell a value from a fault.
    pub bands: LoopBands,
}

/// Why a [`CurrentLoopSensorConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CurrentLoopSensorConfigError {
    /// `shunt` is outside its range.
    ShuntOutOfRange {
        /// What was asked for.
        value: Centiohms,
        /// The least that is allowed.
        least: Centiohms,
        /// The most that is allowed.
        most: Centiohms,
    },
    /// `low_fault` is zero: a broken wire could not be seen.
    LowFaultZero,
    /// `low` is not above `low_fault`.
    LowNotAboveLowFault {
        /// What was asked for.
        value: Microamps,
        /// It must be above this.
        low_fault: Microamps,
    },
    /// `high` is not above `low`.
    HighNotAboveLow {
        /// What was asked for.
        value: Microamps,
        /// It must be above this.
        low: Microamps,
    },
    /// `high_fault` is not above `high`.
    HighFaultNotAboveHigh {
        /// What was asked for.
        value: Microamps,
        /// It must be above this.
        high: Microamps,
    },
}

impl core::fmt::Display for CurrentLoopSensorConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let (name, value, limit_name, limit) = match self {
            Self::ShuntOutOfRange { value, least, most } => {
                return write!(
                    formatter,
                    "shunt is {}/100 Ω; it must be {}/100 to {}/100 Ω",
                    value.raw(),
                    least.raw(),
                    most.raw()
                );
            }
            Self::LowFaultZero => {
                return write!(formatter, "low_fault is 0 µA; it must be 1 µA or more, to see a broken wire");
            }
            Self::LowNotAboveLowFault { value, low_fault } => ("low", value, "low_fault", low_fault),
            Self::HighNotAboveLow { value, low } => ("high", value, "low", low),
            Self::HighFaultNotAboveHigh { value, high } => ("high_fault", value, "high", high),
        };
        write!(formatter, "{name} is {} µA; it must be above {limit_name}, {} µA", value.raw(), limit.raw())
    }
}

impl core::error::Error for CurrentLoopSensorConfigError {}

/// A transmitter with a 4–20 mA output, measured as the drop over a shunt.
///
/// Gives the position within the span, 0 to 1, rounded to nearest; [`Span`](super::Span) makes a quantity of it. A band
/// limit itself belongs to the valid side. Remembers nothing and gives no value while the current is at fault: to tell
/// the fault only after it lasted is the fault table's work, and NAMUR NE 43 asks for
/// [`PERSISTENCE`](Self::PERSISTENCE).
///
#[doc = include_str!("../../docs/sense-current_loop_sensor.svg")]
///
/// ```
/// use trunnion::quantity::{Centiohms, Millivolts, Ratio};
/// use trunnion::sense::{CurrentLoopSensor, CurrentLoopSensorConfig, Flaw, LoopBands, Reading};
///
/// let shunt = Centiohms::new(25_000).unwrap(); // 250 Ω: 1 to 5 V
/// let config = CurrentLoopSensorConfig { shunt, bands: LoopBands::NAMUR_NE_43 };
/// let pump_pressure = CurrentLoopSensor::new(config).unwrap();
/// let at = |millivolts| pump_pressure.step(Millivolts::new(millivolts).unwrap());
///
/// assert_eq!(at(3_000), Reading::Valid(Ratio::from_permille(500).unwrap())); // 12 mA
/// assert_eq!(at(899), Reading::Faulted(Flaw::WireBreak)); // 3.596 mA
/// assert_eq!(at(5_251), Reading::Faulted(Flaw::ShortCircuit)); // 21.004 mA
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CurrentLoopSensor {
    config: CurrentLoopSensorConfig,
    /// Drop from the low end to the high end in 10⁻⁵ mV, held at 2³¹: 35 mA over the largest shunt.
    span: Divisor,
}

impl CurrentLoopSensor {
    /// How long a fault must last before it is told (NAMUR NE 43 as quoted publicly): debounce its fault for this time.
    pub const PERSISTENCE: Millis = Millis::from_ticks(4_000);
    /// Smallest shunt.
    pub const SMALLEST_SHUNT: Centiohms = Centiohms::saturating(1_000);
    /// Largest shunt.
    pub const LARGEST_SHUNT: Centiohms = Centiohms::saturating(60_000);

    /// Refuses bands that do not ascend and a shunt outside its range.
    ///
    /// # Errors
    ///
    /// [`CurrentLoopSensorConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: CurrentLoopSensorConfig) -> Result<Self, CurrentLoopSensorConfigError> {
        use CurrentLoopSensorConfigError::*;
        let CurrentLoopSensorConfig { shunt, bands } = config;
        let LoopBands { low_fault, low, high, high_fault } = bands;
        if shunt.raw() < Self::SMALLEST_SHUNT.raw() || shunt.raw() > Self::LARGEST_SHUNT.raw() {
            return Err(ShuntOutOfRange {
                value: shunt,
                least: Self::SMALLEST_SHUNT,
                most: Self::LARGEST_SHUNT,
            });
        }
        if low_fault.raw() == 0 {
            return Err(LowFaultZero);
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
        let span = drop_at(high.minus(low), shunt);
        Ok(Self { config, span: Divisor::of(span) })
    }

    /// Takes new bands and shunt as a whole or refuses them as a whole.
    ///
    /// # Errors
    ///
    /// [`CurrentLoopSensorConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(
        &mut self,
        config: CurrentLoopSensorConfig,
    ) -> Result<(), CurrentLoopSensorConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// Share of the span, 0 to 1, or the flaw.
    pub const fn step(&self, drop: Millivolts) -> Reading<Ratio> {
        let CurrentLoopSensorConfig { shunt, bands } = self.config;
        let LoopBands { low_fault, low, high, high_fault } = bands;
        // mV / (Ω/100) is 10⁵ µA. Compared by cross-multiplication: no rounding stands between a current and its
        // band; at most 65 535 · 60 000 and 65 535 · 10⁵, so neither product can wrap.
        let drop = product(drop.raw() as u32, 100_000);
        if drop < drop_at(low_fault, shunt) as u64 {
            return Reading::Faulted(Flaw::WireBreak);
        }
        if drop > drop_at(high_fault, shunt) as u64 {
            return Reading::Faulted(Flaw::ShortCircuit);
        }
        // What is no short circuit fits 32 bits.
        let above_low = (drop as u32).saturating_sub(drop_at(low, shunt));
        let span = drop_at(high.minus(low), shunt);
        Reading::Valid(if span == self.span.whole() {
            Ratio::within_range(self.span.fraction(above_low) as i32)
        } else {
            Ratio::from_quotient(above_low as i64, span as i64)
        })
    }
}

/// Drop over a shunt in 10⁻⁵ mV.
const fn drop_at(current: Microamps, shunt: Centiohms) -> u32 {
    (current.raw() as u32).wrapping_mul(shunt.raw() as u32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;

    fn microamps(raw: u16) -> Microamps {
        Microamps::new(raw).unwrap()
    }

    fn config(shunt: u16) -> CurrentLoopSensorConfig {
        CurrentLoopSensorConfig { shunt: Centiohms::new(shunt).unwrap(), bands: LoopBands::NAMUR_NE_43 }
    }

    fn sensor(shunt: u16) -> CurrentLoopSensor {
        CurrentLoopSensor::new(config(shunt)).unwrap()
    }

    /// NAMUR NE 43 as quoted publicly: measuring 3.8–20.5 mA, failure below 3.6 mA or above 21.0 mA.
    #[test]
    fn the_currents_of_namur_ne_43_are_told_apart_over_a_shunt_of_100_ohms() {
        let at = |drop| sensor(10_000).step(Millivolts::new(drop).unwrap());
        assert_eq!(at(359), Reading::Faulted(Flaw::WireBreak));
        assert_eq!(at(360), Reading::Valid(Ratio::ZERO));
        assert_eq!(at(380), Reading::Valid(Ratio::ZERO));
        assert_eq!(at(800), Reading::Valid(Ratio::from_permille(250).unwrap()));
        assert_eq!(at(2_000), Reading::Valid(Ratio::ONE));
        assert_eq!(at(2_050), Reading::Valid(Ratio::ONE));
        assert_eq!(at(2_100), Reading::Valid(Ratio::ONE));
        assert_eq!(at(2_101), Reading::Faulted(Flaw::ShortCircuit));
        assert_eq!(at(0), Reading::Faulted(Flaw::WireBreak));
    }

    #[test]
    fn each_broken_rule_is_refused_by_name_and_leaves_the_sensor_as_it_was() {
        let good = config(25_000);
        let bands = |change: fn(&mut LoopBands)| {
            let mut bands = good.bands;
            change(&mut bands);
            CurrentLoopSensorConfig { bands, ..good }
        };
        let broken = [
            (config(999), "shunt is 999/100 Ω; it must be 1000/100 to 60000/100 Ω"),
            (config(60_001), "shunt is 60001/100 Ω; it must be 1000/100 to 60000/100 Ω"),
            (
                bands(|bands| bands.low_fault = Microamps::ZERO),
                "low_fault is 0 µA; it must be 1 µA or more, to see a broken wire",
            ),
            (
                bands(|bands| bands.low = microamps(3_600)),
                "low is 3600 µA; it must be above low_fault, 3600 µA",
            ),
            (bands(|bands| bands.high = microamps(4_000)), "high is 4000 µA; it must be above low, 4000 µA"),
            (
                bands(|bands| bands.high_fault = microamps(20_000)),
                "high_fault is 20000 µA; it must be above high, 20000 µA",
            ),
        ];
        let mut sensor = CurrentLoopSensor::new(good).unwrap();
        for (config, message) in broken {
            assert_eq!(sensor.reconfigure(config).unwrap_err().to_string(), message);
            assert_eq!(sensor.config, good);
        }
        assert!(sensor.reconfigure(config(60_000)).is_ok());
    }

    proptest! {
        #[test]
        fn a_reading_is_valid_exactly_between_the_fault_currents(drop: u16, shunt in 1_000_u16..=60_000) {
            let reading = sensor(shunt).step(Millivolts::new(drop).unwrap());
            let (drop, shunt) = (u64::from(drop) * 100_000, u64::from(shunt));
            prop_assert_eq!(reading.is_valid(), drop >= 3_600 * shunt && drop <= 21_000 * shunt);
            if drop < 3_600 * shunt {
                prop_assert_eq!(reading.flaw(), Some(Flaw::WireBreak));
            }
        }

        #[test]
        fn more_current_never_reads_less_and_the_share_is_the_nearest(a: u16, b: u16, shunt in 1_000_u16..=60_000) {
            let at = |drop: u16| sensor(shunt).step(Millivolts::new(drop).unwrap()).valid();
            if let (Some(low), Some(high)) = (at(a.min(b)), at(a.max(b))) {
                prop_assert!(Ratio::ZERO <= low && low <= high);
                let span = 16_000 * i128::from(shunt);
                let above = i128::from(a.min(b)) * 100_000 - 4_000 * i128::from(shunt);
                let error = i128::from(low.to_bits()) * span - (above.max(0).min(span) << 30);
                prop_assert!(2 * error.abs() <= span);
            }
        }
    }
}
