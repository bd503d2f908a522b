//! Less of everything where the machine needs care.

use core::fmt;

use crate::quantity::{Permille, Ratio};

/// The smallest of several shares; full where there is none.
///
/// ```
/// use trunnion::guard::smallest;
/// use trunnion::quantity::Ratio;
///
/// let cold_oil = Ratio::from_permille(600).unwrap();
/// assert_eq!(smallest(&[Ratio::ONE, cold_oil]), cold_oil);
/// assert_eq!(smallest(&[]), Ratio::ONE);
/// ```
pub fn smallest(shares: &[Ratio]) -> Ratio {
    shares.iter().copied().fold(Ratio::ONE, Ratio::at_most)
}

/// Two corners of a [`DerateCurve`], in raw steps of the quantity that it looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct DerateCurveConfig {
    /// Raw value of the first corner.
    pub low: i32,
    /// Share at and below it, 0 to 1000 ‰.
    pub at_low: Permille,
    /// Raw value of the second corner, above the first.
    pub high: i32,
    /// Share at and above it, 0 to 1000 ‰.
    pub at_high: Permille,
}

/// Why a [`DerateCurveConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DerateCurveConfigError {
    /// The second corner is not above the first.
    Corners {
        /// First corner.
        low: i32,
        /// Second corner.
        high: i32,
    },
    /// The share at the first corner is below zero.
    AtLow(Permille),
    /// The share at the second corner is below zero.
    AtHigh(Permille),
}

impl fmt::Display for DerateCurveConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Corners { low, high } => {
                write!(formatter, "corners at {low} and {high}: set the first below the second")
            }
            Self::AtLow(given) => {
                write!(formatter, "share of {} ‰ at the first corner: set 0 to 1000 ‰", given.raw())
            }
            Self::AtHigh(given) => {
                write!(formatter, "share of {} ‰ at the second corner: set 0 to 1000 ‰", given.raw())
            }
        }
    }
}

impl core::error::Error for DerateCurveConfigError {}

/// A share that depends on a quantity: level, sloped, level.
///
/// Between the corners linear, rounded to nearest; beyond them held. Cold oil, in tenths of a degree:
///
/// ```
/// use trunnion::guard::{DerateCurve, DerateCurveConfig};
/// use trunnion::quantity::{Celsius, Permille, Ratio};
///
/// const COLD_OIL: DerateCurve = match DerateCurve::new(DerateCurveConfig {
///     low: -150,
///     at_low: Permille::new(400).unwrap(),
///     high: 100,
///     at_high: Permille::MAX,
/// }) {
///     Ok(curve) => curve,
///     Err(_) => panic!(), // in a constant: fails the build, not the machine
/// };
/// let oil = Celsius::new(-25).unwrap(); // −2.5 °C, half way
/// assert_eq!(COLD_OIL.step(oil.raw().into()), Ratio::from_permille(700).unwrap());
/// ```
#[derive(Debug, Clone, Copy)]
pub struct DerateCurve {
    low: i32,
    high: i32,
    at_low: Ratio,
    at_high: Ratio,
}

impl DerateCurve {
    /// Refuses corners out of order and shares below zero.
    pub const fn new(config: DerateCurveConfig) -> Result<Self, DerateCurveConfigError> {
        let DerateCurveConfig { low, at_low, high, at_high } = config;
        if low >= high {
            return Err(DerateCurveConfigError::Corners { low, high });
        }
        if at_low.raw() < 0 {
            return Err(DerateCurveConfigError::AtLow(at_low));
        }
        if at_high.raw() < 0 {
            return Err(DerateCurveConfigError::AtHigh(at_high));
        }
        let at_low = Ratio::from_quotient(at_low.raw() as i64, 1000);
        let at_high = Ratio::from_quotient(at_high.raw() as i64, 1000);
        Ok(Self { low, high, at_low, at_high })
    }

    /// Another curve.
    pub fn reconfigure(&mut self, config: DerateCurveConfig) -> Result<(), DerateCurveConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The share at `value`.
    pub const fn step(&self, value: i32) -> Ratio {
        let above = (value as i64).wrapping_sub(self.low as i64);
        let width = (self.high as i64).wrapping_sub(self.low as i64);
        let along = Ratio::from_quotient(if above < 0 { 0 } else { above }, width);
        self.at_low.plus(self.at_high.minus(self.at_low).times(along))
    }
}
