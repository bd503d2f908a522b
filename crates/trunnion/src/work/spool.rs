//! From intent to the opening of a spool.

use core::fmt;

use crate::quantity::{Permille, Ratio};

/// Largest openings of a [`Spool`]. Zero forbids a direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
/// ```
/// use trunnion::quantity::{Permille, Ratio};
/// use trunnion::work::{Spool, SpoolConfig};
///
/// let config = SpoolConfig { positive: Permille::MAX, negative: Permille::new(700).unwrap() };
/// let boom = Spool::new(config).unwrap();
/// assert_eq!(boom.step(Ratio::MINUS_ONE, Ratio::ONE).to_permille().raw(), -700);
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Spool {
    positive: Ratio,
    negative: Ratio,
}

impl Spool {
    /// Refuses an opening below zero.
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
