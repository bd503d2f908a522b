//! From intent to the opening of a spool.

use core::fmt;

use crate::quantity::{Permille, Ratio};

/// Largest openings of a [`Spool`]. Zero forbids a direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SpoolConfig {
    /// In the positive direction (raise, curl), 0 to 1000 ‰.
    pub positive: Permille,
    /// In the negative direction (lower, dump), 0 to 1000 ‰.
    pub negative: Permille,
}

/// Why a [`SpoolConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SpoolConfigError {
    /// The positive opening is below zero.
    Positive(Permille),
    /// The negative opening is below zero.
    Negative(Permille),
}

impl fmt::Display for SpoolConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (direction, given) = match self {
            Self::Positive(given) => ("positive", given),
            Self::Negative(given) => ("negative", given),
        };
        write!(formatter, "largest {direction} opening of {} ‰: set 0 ‰ to 1000 ‰", given.raw())
    }
}

impl core::error::Error for SpoolConfigError {}

/// Spreads the travel of a lever over the allowed opening of a spool, each direction for itself.
///
/// `share` takes from both directions what the machine cannot give at the moment (cold oil, engine in trouble).
/// Rounds to nearest, ties away from zero.
///
#[doc = include_str!("../../docs/work-spool.svg")]
///
/// ```
/// use trunnion::quantity::{Permille, Ratio};
/// use trunnion::work::{Spool, SpoolConfig};
///
/// let config = SpoolConfig { positive: Permille::MAX, negative: Permille::new(700).unwrap() };
/// let boom = Spool::new(config).unwrap();
/// assert_eq!(boom.step(Ratio::MINUS_ONE, Ratio::ONE).to_permille().raw(), -700);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Spool {
    positive: Ratio,
    negative: Ratio,
}

impl Spool {
    /// Refuses an opening below zero.
    ///
    /// # Errors
    ///
    /// [`SpoolConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: SpoolConfig) -> Result<Self, SpoolConfigError> {
        if config.positive.raw() < 0 {
            return Err(SpoolConfigError::Positive(config.positive));
        }
        if config.negative.raw() < 0 {
            return Err(SpoolConfigError::Negative(config.negative));
        }
        Ok(Self {
            positive: Ratio::from_quotient(config.positive.raw() as i64, 1000),
            negative: Ratio::from_quotient(config.negative.raw() as i64, 1000),
        })
    }

    /// Other openings.
    ///
    /// # Errors
    ///
    /// [`SpoolConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: SpoolConfig) -> Result<(), SpoolConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The opening for `intent`; a `share` below zero counts as zero.
    pub const fn step(&self, intent: Ratio, share: Ratio) -> Ratio {
        let largest = if intent.to_bits() < 0 { self.negative } else { self.positive };
        intent.times(largest).times(share.at_least(Ratio::ZERO))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ratio() -> impl Strategy<Value = Ratio> {
        (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    proptest! {
        #[test]
        fn the_opening_follows_the_lever_within_its_limits(
            positive in 0i16..=1000, negative in 0i16..=1000, one in ratio(), other in ratio(), share in ratio()
        ) {
            let (positive, negative) = (Permille::new(positive).unwrap(), Permille::new(negative).unwrap());
            let spool = Spool::new(SpoolConfig { positive, negative }).unwrap();
            let mirror = Spool::new(SpoolConfig { positive: negative, negative: positive }).unwrap();
            let opening = spool.step(one, share);
            prop_assert!(opening <= positive.into() && opening >= Ratio::from(negative).reversed());
            prop_assert!(opening.magnitude() <= share.at_least(Ratio::ZERO));
            prop_assert!(spool.step(one.at_most(other), share) <= spool.step(one.at_least(other), share));
            prop_assert_eq!(mirror.step(one.reversed(), share), opening.reversed());
            prop_assert_eq!(spool.step(Ratio::ZERO, share), Ratio::ZERO);
        }
    }

    #[test]
    fn an_opening_below_zero_is_refused_with_its_direction() {
        let negative = Permille::new(-5).unwrap();
        let error = Spool::new(SpoolConfig { positive: Permille::MAX, negative }).unwrap_err();
        assert_eq!(error, SpoolConfigError::Negative(negative));
        assert_eq!(std::format!("{error}"), "largest negative opening of -5 ‰: set 0 ‰ to 1000 ‰");
    }

    four_verbs! {
        new: Spool::new,
        configs: (SpoolConfig { positive: Permille::new(800).unwrap(), negative: Permille::new(500).unwrap() }, SpoolConfig { positive: Permille::new(400).unwrap(), negative: Permille::new(900).unwrap() }),
        accepted: [
            SpoolConfig { positive: Permille::new(0).unwrap(), negative: Permille::new(0).unwrap() },
            SpoolConfig { positive: Permille::new(1000).unwrap(), negative: Permille::new(1000).unwrap() },
        ],
        refused: [
            SpoolConfig { positive: Permille::new(-1).unwrap(), negative: Permille::new(0).unwrap() } => "largest positive opening of -1 ‰: set 0 ‰ to 1000 ‰",
            SpoolConfig { positive: Permille::new(0).unwrap(), negative: Permille::new(-1).unwrap() } => "largest negative opening of -1 ‰: set 0 ‰ to 1000 ‰",
        ],
        inputs: (ratio(), ratio()),
        step: |block, (intent, share)| block.step(intent, share),
    }
}
