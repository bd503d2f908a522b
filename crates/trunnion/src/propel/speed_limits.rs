//! Largest speeds forward, in reverse and in rotation.

use core::fmt;

use super::sides::Sides;
use crate::quantity::{Permille, Ratio};

/// Largest speeds of a [`SpeedLimits`], as shares of full scale. Zero forbids a motion.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SpeedLimitsConfig {
    /// Travel forward, 0 to 1000 ‰.
    pub forward: Permille,
    /// Travel in reverse, 0 to 1000 ‰.
    pub reverse: Permille,
    /// Rotation either way, 0 to 1000 ‰: 1000 ‰ is both sides at full speed against each other.
    pub rotation: Permille,
}

/// Why a [`SpeedLimitsConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SpeedLimitsConfigError {
    /// The largest speed forward is below zero.
    Forward(Permille),
    /// The largest speed in reverse is below zero.
    Reverse(Permille),
    /// The largest rotation is below zero.
    Rotation(Permille),
}

impl fmt::Display for SpeedLimitsConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (name, given) = match self {
            Self::Forward(given) => ("speed forward", given),
            Self::Reverse(given) => ("speed in reverse", given),
            Self::Rotation(given) => ("rotation", given),
        };
        write!(formatter, "largest {name} of {} ‰: set 0 ‰ to 1000 ‰", given.raw())
    }
}

impl core::error::Error for SpeedLimitsConfigError {}

/// Holds travel and rotation within their largest speeds.
///
/// ```
/// use trunnion::propel::{Sides, SpeedLimits, SpeedLimitsConfig};
/// use trunnion::quantity::{Permille, Ratio};
///
/// let limits = SpeedLimits::new(SpeedLimitsConfig {
///     forward: Permille::MAX,
///     reverse: Permille::new(600).unwrap(),
///     rotation: Permille::new(500).unwrap(),
/// })
/// .unwrap();
///
/// let (drive, _) = limits.step(Ratio::MINUS_ONE, Ratio::ZERO);
/// assert_eq!(drive.to_permille().raw(), -600); // the whole lever travel, over 60 % of the speed
/// let spin = limits.apply(Sides::spin(Ratio::ONE));
/// assert_eq!(spin.left.to_permille().raw(), 500);
/// ```
#[derive(Debug, Clone, Copy)]
pub struct SpeedLimits {
    forward: Ratio,
    reverse: Ratio,
    rotation: Ratio,
}

impl SpeedLimits {
    /// Refuses shares below zero.
    pub const fn new(config: SpeedLimitsConfig) -> Result<Self, SpeedLimitsConfigError> {
        if config.forward.raw() < 0 {
            return Err(SpeedLimitsConfigError::Forward(config.forward));
        }
        if config.reverse.raw() < 0 {
            return Err(SpeedLimitsConfigError::Reverse(config.reverse));
        }
        if config.rotation.raw() < 0 {
            return Err(SpeedLimitsConfigError::Rotation(config.rotation));
        }
        Ok(Self {
            forward: Ratio::from_quotient(config.forward.raw() as i64, 1000),
            reverse: Ratio::from_quotient(config.reverse.raw() as i64, 1000),
            rotation: Ratio::from_quotient(config.rotation.raw() as i64, 1000),
        })
    }

    /// Other limits.
    pub fn reconfigure(&mut self, config: SpeedLimitsConfig) -> Result<(), SpeedLimitsConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// Spreads the whole travel of the levers over the speeds that are allowed: drive and steer, each scaled.
    ///
    /// Keeps the feel of the lever. Rotation is then limited at zero drive; a mixing law may turn a partial steer into
    /// more rotation than its share, so [`apply`](Self::apply) after the mix is what holds.
    pub const fn step(&self, drive: Ratio, steer: Ratio) -> (Ratio, Ratio) {
        let limit = if drive.to_bits() < 0 { self.reverse } else { self.forward };
        (drive.times(limit), steer.times(self.rotation))
    }

    /// The sides, scaled together by the largest share that keeps travel and rotation within their limits.
    ///
    /// The shape of the turn stays; sides within the limits stay as they are. Never above a limit by more than 2⁻³⁰.
    pub const fn apply(&self, sides: Sides) -> Sides {
        let sum = (sides.left.to_bits() as i64).wrapping_add(sides.right.to_bits() as i64);
        let difference = (sides.left.to_bits() as i64).wrapping_sub(sides.right.to_bits() as i64);
        let travel = if sum < 0 { self.reverse } else { self.forward };
        sides.scaled(share(travel, sum).at_most(share(self.rotation, difference)))
    }
}

/// `limit` as a share of half of `doubled`, at most one.
const fn share(limit: Ratio, doubled: i64) -> Ratio {
    let doubled = doubled.saturating_abs();
    let doubled_limit = (limit.to_bits() as i64).wrapping_mul(2);
    if doubled <= doubled_limit { Ratio::ONE } else { Ratio::from_quotient(doubled_limit, doubled) }
}
