//! Where a lever's ends and its centre are.

use crate::declare::Field;
use crate::quantity::{Divisor, Permille, Ratio};
use crate::sense::{Flaw, Reading};

/// What was measured at a lever, and how far it may be off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct AxisCalibrationConfig<Q> {
    /// Signal at the end of the negative travel.
    pub low: Q,
    /// Signal of the released lever.
    pub centre: Q,
    /// Signal at the end of the positive travel.
    pub high: Q,
    /// Least signal from the centre to either end, above zero: less is not a lever that was moved to its end.
    pub shortest_travel: Q,
    /// How far the centre may lie from the middle of the ends, as a share of half the travel, 0 to 500 ‰.
    pub off_centre: Permille,
    /// How far beyond an end the signal is still the lever's, zero or more.
    pub overtravel: Q,
}

/// Why an [`AxisCalibrationConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum AxisCalibrationConfigError<Q> {
    /// `shortest_travel` is not above zero.
    ShortestTravelNotAboveZero {
        /// What was asked for.
        value: Q,
    },
    /// `overtravel` is below zero.
    OvertravelNegative {
        /// What was asked for.
        value: Q,
    },
    /// `off_centre` is outside its range.
    OffCentreOutOfRange {
        /// What was asked for.
        value: Permille,
        /// The most that is allowed.
        most: Permille,
    },
    /// `low` is not far enough below `centre`.
    LowTooNear {
        /// What was measured.
        value: Q,
        /// Signal of the released lever.
        centre: Q,
        /// Least signal between them.
        shortest_travel: Q,
    },
    /// `high` is not far enough above `centre`.
    HighTooNear {
        /// What was measured.
        value: Q,
        /// Signal of the released lever.
        centre: Q,
        /// Least signal between them.
        shortest_travel: Q,
    },
    /// `centre` is too far from the middle of `low` and `high`.
    CentreOffMiddle {
        /// What was measured.
        value: Q,
        /// End of the negative travel.
        low: Q,
        /// End of the positive travel.
        high: Q,
    },
}

impl<Q: Field> core::fmt::Display for AxisCalibrationConfigError<Q> {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::ShortestTravelNotAboveZero { value } => {
                write!(formatter, "shortest_travel is {}; it must be above zero", value.to_raw())?;
            }
            Self::OvertravelNegative { value } => {
                write!(formatter, "overtravel is {}; it must be zero or more", value.to_raw())?;
            }
            Self::OffCentreOutOfRange { value, most } => {
                return write!(
                    formatter,
                    "off_centre is {} ‰; it must be 0 to {} ‰",
                    value.raw(),
                    most.raw()
                );
            }
            Self::LowTooNear { value, centre, shortest_travel } => write!(
                formatter,
                "low is {}; it must be at least {} below centre, {}: move the lever to its end and measure again",
                value.to_raw(),
                shortest_travel.to_raw(),
                centre.to_raw()
            )?,
            Self::HighTooNear { value, centre, shortest_travel } => write!(
                formatter,
                "high is {}; it must be at least {} above centre, {}: move the lever to its end and measure again",
                value.to_raw(),
                shortest_travel.to_raw(),
                centre.to_raw()
            )?,
            Self::CentreOffMiddle { value, low, high } => write!(
                formatter,
                "centre is {}, too far from the middle of low, {}, and high, {}: release the lever and measure again",
                value.to_raw(),
                low.to_raw(),
                high.to_raw()
            )?,
        }
        let (unit, numerator, denominator) = (Q::UNIT, Q::NUMERATOR, Q::DENOMINATOR);
        if unit.is_empty() {
            Ok(())
        } else {
            write!(formatter, " (steps of {numerator}/{denominator} {unit})")
        }
    }
}

impl<Q: Field + core::fmt::Debug> core::error::Error for AxisCalibrationConfigError<Q> {}

/// Turns the signal of one lever into its position by its own ends and centre.
///
/// Zero at the centre, -1 and 1 at the ends, straight in between on either side; monotone, rounded to nearest with ties away
/// from zero. Up to `overtravel` beyond an end the position rests there; further out the reading is faulted as out of
/// range, because the calibration belongs to another lever or the sensor has moved. Measurements that no
/// sound lever gives are refused. Quantities whose raw range is wider than 2³¹ are refused by the compiler.
///
#[doc = include_str!("../../docs/lever-axis_calibration.svg")]
///
/// ```
/// use trunnion::lever::{AxisCalibration, AxisCalibrationConfig};
/// use trunnion::quantity::{Millivolts, Permille, Ratio};
/// use trunnion::sense::{Flaw, Reading};
///
/// let millivolts = |raw| Millivolts::new(raw).unwrap();
/// let left_y = AxisCalibration::new(AxisCalibrationConfig {
///     low: millivolts(480),
///     centre: millivolts(2_530),
///     high: millivolts(4_530),
///     shortest_travel: millivolts(1_500),
///     off_centre: Permille::new(100).unwrap(),
///     overtravel: millivolts(150),
/// })
/// .unwrap();
/// assert_eq!(left_y.step(millivolts(2_530)), Reading::Valid(Ratio::ZERO));
/// assert_eq!(left_y.step(millivolts(3_530)), Reading::Valid(Ratio::from_permille(500).unwrap()));
/// assert_eq!(left_y.step(millivolts(400)), Reading::Valid(Ratio::MINUS_ONE));
/// assert_eq!(left_y.step(millivolts(4_700)), Reading::Faulted(Flaw::OutOfRange));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct AxisCalibration<Q> {
    config: AxisCalibrationConfig<Q>,
    /// Travel below and above the centre.
    travel: [Divisor; 2],
}

impl<Q: Field> AxisCalibration<Q> {
    /// Farthest that the centre may be allowed to lie from the middle.
    pub const FARTHEST_OFF_CENTRE: Permille = Permille::saturating(500);

    /// Refuses what no sound lever gives: a travel too short on either side, a centre too far from the middle.
    ///
    /// # Errors
    ///
    /// [`AxisCalibrationConfigError`]: which rule the config breaks, with its value.
    pub fn new(config: AxisCalibrationConfig<Q>) -> Result<Self, AxisCalibrationConfigError<Q>> {
        use AxisCalibrationConfigError::*;
        const {
            assert!(
                Q::MAX_RAW.saturating_sub(Q::MIN_RAW) <= 1 << 31,
                "a calibration computes in 64 bits: the raw range of its quantity is at most 2^31"
            )
        };
        let AxisCalibrationConfig { low, centre, high, shortest_travel, off_centre, overtravel } = config;
        if shortest_travel.to_raw() <= 0 {
            return Err(ShortestTravelNotAboveZero { value: shortest_travel });
        }
        if overtravel.to_raw() < 0 {
            return Err(OvertravelNegative { value: overtravel });
        }
        if off_centre.raw() < 0 || off_centre.raw() > Self::FARTHEST_OFF_CENTRE.raw() {
            return Err(OffCentreOutOfRange { value: off_centre, most: Self::FARTHEST_OFF_CENTRE });
        }
        let negative = centre.to_raw().saturating_sub(low.to_raw());
        let positive = high.to_raw().saturating_sub(centre.to_raw());
        if negative < shortest_travel.to_raw() {
            return Err(LowTooNear { value: low, centre, shortest_travel });
        }
        if positive < shortest_travel.to_raw() {
            return Err(HighTooNear { value: high, centre, shortest_travel });
        }
        // Twice the distance from the middle, and twice half the travel: no halves are rounded.
        let off = positive.saturating_sub(negative).saturating_abs().saturating_mul(1000);
        let travel = positive.saturating_add(negative);
        if off > travel.saturating_mul(i64::from(off_centre.raw())) {
            return Err(CentreOffMiddle { value: centre, low, high });
        }
        // Above zero and at most the quantity's range.
        Ok(Self { config, travel: [negative, positive].map(|travel| Divisor::of(travel as u32)) })
    }

    /// Takes another calibration as a whole or refuses it as a whole.
    ///
    /// # Errors
    ///
    /// [`AxisCalibrationConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(
        &mut self,
        config: AxisCalibrationConfig<Q>,
    ) -> Result<(), AxisCalibrationConfigError<Q>> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The position, -1 to 1, or that the signal is not this lever's.
    pub fn step(&self, signal: Q) -> Reading<Ratio> {
        let AxisCalibrationConfig { low, centre, high, overtravel, .. } = self.config;
        let (low, centre, high) = (low.to_raw(), centre.to_raw(), high.to_raw());
        let signal = signal.to_raw();
        let beyond = low.saturating_sub(signal).max(signal.saturating_sub(high));
        if beyond > overtravel.to_raw() {
            return Reading::Faulted(Flaw::OutOfRange);
        }
        let deflection = signal.saturating_sub(centre);
        let [negative, positive] = &self.travel;
        let travel = if deflection < 0 { negative } else { positive };
        // At most the quantity's range.
        let share = Ratio::held(travel.fraction(deflection.unsigned_abs() as u32) as i32);
        Reading::Valid(if deflection < 0 { share.reversed() } else { share })
    }
}

#[cfg(test)]
mod tests;
