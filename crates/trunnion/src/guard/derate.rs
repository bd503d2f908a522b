//! Less of everything where the machine needs care.

use core::fmt;

use crate::quantity::{Divisor, Permille, Ratio};

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
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
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
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
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
#[doc = include_str!("../../docs/guard-derate_curve.svg")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct DerateCurve {
    low: i32,
    high: i32,
    /// Between the corners, held at 2³¹.
    width: Divisor,
    at_low: Ratio,
    at_high: Ratio,
}

impl DerateCurve {
    /// Refuses corners out of order and shares below zero.
    ///
    /// # Errors
    ///
    /// [`DerateCurveConfigError`]: which rule the config breaks, with its value.
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
        Ok(Self { low, high, width: Divisor::of(high.abs_diff(low)), at_low, at_high })
    }

    /// Another curve.
    ///
    /// # Errors
    ///
    /// [`DerateCurveConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: DerateCurveConfig) -> Result<(), DerateCurveConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The share at `value`.
    pub const fn step(&self, value: i32) -> Ratio {
        if value <= self.low {
            return self.at_low;
        }
        let (above, width) = (value.abs_diff(self.low), self.high.abs_diff(self.low));
        let along = if width == self.width.whole() {
            Ratio::within_range(self.width.fraction(above) as i32)
        } else {
            Ratio::from_quotient(above as i64, width as i64)
        };
        self.at_low.plus(self.at_high.minus(self.at_low).times(along))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn config() -> impl Strategy<Value = DerateCurveConfig> {
        let corner = || prop_oneof![-2_000i32..2_000, any::<i32>()];
        (corner(), corner(), 0i16..=1000, 0i16..=1000)
            .prop_filter("corners differ", |(one, other, ..)| one != other)
            .prop_map(|(one, other, at_low, at_high)| DerateCurveConfig {
                low: one.min(other),
                at_low: Permille::new(at_low).unwrap(),
                high: one.max(other),
                at_high: Permille::new(at_high).unwrap(),
            })
    }

    proptest! {
        #[test]
        fn the_share_stays_between_its_corners_and_goes_one_way(config in config(), one: i32, other: i32) {
            let curve = DerateCurve::new(config).unwrap();
            let (below, above) = (curve.step(one.min(other)), curve.step(one.max(other)));
            let (rises, falls) = (config.at_low <= config.at_high, config.at_low >= config.at_high);
            prop_assert!((rises && below <= above) || (falls && below >= above));
            let (low, high) = (Ratio::from(config.at_low), Ratio::from(config.at_high));
            for share in [below, above] {
                prop_assert!(share >= low.at_most(high) && share <= low.at_least(high));
            }
        }

        #[test]
        fn at_and_beyond_a_corner_its_share_holds(config in config(), beyond in 0i32..1_000_000) {
            let curve = DerateCurve::new(config).unwrap();
            prop_assert_eq!(curve.step(config.low.saturating_sub(beyond)), config.at_low.into());
            prop_assert_eq!(curve.step(config.high.saturating_add(beyond)), config.at_high.into());
        }

        #[test]
        fn the_smallest_of_shares_is_one_of_them_and_not_above_any(
            shares in proptest::collection::vec(0..=Ratio::ONE_BITS, 1..6)
        ) {
            let shares: std::vec::Vec<_> = shares.into_iter().map(|bits| Ratio::from_bits(bits).unwrap()).collect();
            let found = smallest(&shares);
            prop_assert!(shares.contains(&found));
            prop_assert!(shares.iter().all(|share| found <= *share));
        }
    }

    #[test]
    fn between_the_widest_corners_the_share_is_still_exact() {
        let (low, high) = (i32::MIN, i32::MAX);
        let config = DerateCurveConfig { low, at_low: Permille::ZERO, high, at_high: Permille::MAX };
        let curve = DerateCurve::new(config).unwrap();
        let shares = [250, 500].map(|permille| Ratio::from_permille(permille).unwrap());
        assert_eq!([i32::MIN / 2, 0].map(|value| curve.step(value)), shares);
    }

    #[test]
    fn values_outside_their_range_are_refused_with_what_to_do() {
        let good = DerateCurveConfig { low: 0, at_low: Permille::ZERO, high: 1, at_high: Permille::MAX };
        let error = DerateCurve::new(DerateCurveConfig { high: 0, ..good }).unwrap_err();
        assert_eq!(std::format!("{error}"), "corners at 0 and 0: set the first below the second");
        let at_low = Permille::new(-1).unwrap();
        let error = DerateCurve::new(DerateCurveConfig { at_low, ..good }).unwrap_err();
        assert_eq!(error, DerateCurveConfigError::AtLow(at_low));
    }

    four_verbs! {
        new: DerateCurve::new,
        configs: (DerateCurveConfig { low: -150, at_low: Permille::new(400).unwrap(), high: 100, at_high: Permille::new(1000).unwrap() }, DerateCurveConfig { low: 0, at_low: Permille::new(1000).unwrap(), high: 900, at_high: Permille::new(300).unwrap() }),
        accepted: [
            DerateCurveConfig { low: -1, at_low: Permille::new(0).unwrap(), high: 0, at_high: Permille::new(0).unwrap() },
            DerateCurveConfig { low: 0, at_low: Permille::new(1000).unwrap(), high: 1, at_high: Permille::new(1000).unwrap() },
        ],
        refused: [
            DerateCurveConfig { low: 5, at_low: Permille::new(0).unwrap(), high: 5, at_high: Permille::new(0).unwrap() } => "corners at 5 and 5: set the first below the second",
            DerateCurveConfig { low: 0, at_low: Permille::new(-1).unwrap(), high: 9, at_high: Permille::new(0).unwrap() } => "share of -1 ‰ at the first corner: set 0 to 1000 ‰",
            DerateCurveConfig { low: 0, at_low: Permille::new(0).unwrap(), high: 9, at_high: Permille::new(-1).unwrap() } => "share of -1 ‰ at the second corner: set 0 to 1000 ‰",
        ],
        inputs: -300..1_200,
        step: |block, value| block.step(value),
    }
}
