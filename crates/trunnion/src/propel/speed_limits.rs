//! Largest speeds forward, in reverse and in rotation.

use core::fmt;

use super::sides::Sides;
use crate::quantity::{Permille, Ratio};

/// Largest speeds of a [`SpeedLimits`], as shares of full scale. Zero forbids a motion.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
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
#[doc = include_str!("../../docs/propel-speed_limits.svg")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct SpeedLimits {
    forward: Ratio,
    reverse: Ratio,
    rotation: Ratio,
}

impl SpeedLimits {
    /// Refuses shares below zero.
    ///
    /// # Errors
    ///
    /// [`SpeedLimitsConfigError`]: which rule the config breaks, with its value.
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
    ///
    /// # Errors
    ///
    /// [`SpeedLimitsConfigError`], as for `new`; everything then stays as it was.
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
    // Rounding both sides can leave their mean one step above the limit: that is within it.
    if doubled <= doubled_limit.wrapping_add(2) {
        Ratio::ONE
    } else {
        Ratio::from_quotient(doubled_limit, doubled)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ratio() -> impl Strategy<Value = Ratio> {
        (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    fn sides() -> impl Strategy<Value = Sides> {
        (ratio(), ratio()).prop_map(|(left, right)| Sides { left, right })
    }

    fn config() -> impl Strategy<Value = SpeedLimitsConfig> {
        (0i16..=1000, 0i16..=1000, 0i16..=1000).prop_map(|(forward, reverse, rotation)| SpeedLimitsConfig {
            forward: Permille::new(forward).unwrap(),
            reverse: Permille::new(reverse).unwrap(),
            rotation: Permille::new(rotation).unwrap(),
        })
    }

    fn excess(value: Ratio, limit: Permille) -> i32 {
        value.magnitude().to_bits() - Ratio::from(limit).to_bits()
    }

    proptest! {
        #[test]
        fn travel_and_rotation_stay_within_their_limits(config in config(), sides in sides()) {
            let limited = SpeedLimits::new(config).unwrap().apply(sides);
            let travel = if sides.mean() < Ratio::ZERO { config.reverse } else { config.forward };
            prop_assert!(excess(limited.mean(), travel) <= 1);
            prop_assert!(excess(limited.half_difference(), config.rotation) <= 1);
        }

        #[test]
        fn the_scale_is_the_largest_that_holds_and_the_shape_of_the_turn_stays(config in config(), sides in sides()) {
            let limited = SpeedLimits::new(config).unwrap().apply(sides);
            let travel = if sides.mean() < Ratio::ZERO { config.reverse } else { config.forward };
            let at_a_limit = excess(limited.mean(), travel) >= -2
                || excess(limited.half_difference(), config.rotation) >= -2;
            prop_assert!(limited == sides || at_a_limit, "{:?} became {:?}", sides, limited);
            // left / right stays: the cross products differ by no more than the roundings of two bits.
            let product = |a: Ratio, b: Ratio| i64::from(a.to_bits()) * i64::from(b.to_bits());
            let bend = product(limited.left, sides.right) - product(limited.right, sides.left);
            prop_assert!(bend.abs() <= i64::from(Ratio::ONE_BITS) * 2);
        }

        #[test]
        fn sides_within_the_limits_stay_as_they_are(config in config(), sides in sides()) {
            let limits = SpeedLimits::new(config).unwrap();
            let within = limits.apply(sides);
            prop_assert_eq!(limits.apply(within), within);
        }

        #[test]
        fn the_mirrored_machine_is_limited_alike(config in config(), sides in sides()) {
            let limits = SpeedLimits::new(config).unwrap();
            prop_assert_eq!(limits.apply(sides.swapped()), limits.apply(sides).swapped());
        }

        #[test]
        fn the_lever_covers_the_allowed_range_from_end_to_end(config in config(), drive in ratio(), steer in ratio()) {
            let limits = SpeedLimits::new(config).unwrap();
            let (scaled, turned) = limits.step(drive, steer);
            prop_assert!(scaled >= Ratio::from(config.reverse).reversed() && scaled <= config.forward.into());
            prop_assert!(turned.magnitude() <= config.rotation.into());
            prop_assert_eq!(limits.step(Ratio::ONE, Ratio::ONE), (config.forward.into(), config.rotation.into()));
            prop_assert_eq!(limits.step(Ratio::MINUS_ONE, Ratio::ZERO).0, Ratio::from(config.reverse).reversed());
        }
    }

    #[test]
    fn a_limit_below_zero_is_refused_with_its_name() {
        let bad = Permille::new(-1).unwrap();
        let config = SpeedLimitsConfig { forward: Permille::MAX, reverse: bad, rotation: Permille::MAX };
        let error = SpeedLimits::new(config).unwrap_err();
        assert_eq!(error, SpeedLimitsConfigError::Reverse(bad));
        assert_eq!(std::format!("{error}"), "largest speed in reverse of -1 ‰: set 0 ‰ to 1000 ‰");
    }

    four_verbs! {
        new: SpeedLimits::new,
        configs: (SpeedLimitsConfig { forward: Permille::new(900).unwrap(), reverse: Permille::new(600).unwrap(), rotation: Permille::new(500).unwrap() }, SpeedLimitsConfig { forward: Permille::new(700).unwrap(), reverse: Permille::new(400).unwrap(), rotation: Permille::new(300).unwrap() }),
        accepted: [
            SpeedLimitsConfig { forward: Permille::new(0).unwrap(), reverse: Permille::new(0).unwrap(), rotation: Permille::new(0).unwrap() },
            SpeedLimitsConfig { forward: Permille::new(1000).unwrap(), reverse: Permille::new(1000).unwrap(), rotation: Permille::new(1000).unwrap() },
        ],
        refused: [
            SpeedLimitsConfig { forward: Permille::new(-1).unwrap(), reverse: Permille::new(0).unwrap(), rotation: Permille::new(0).unwrap() } => "largest speed forward of -1 ‰: set 0 ‰ to 1000 ‰",
            SpeedLimitsConfig { forward: Permille::new(0).unwrap(), reverse: Permille::new(-1).unwrap(), rotation: Permille::new(0).unwrap() } => "largest speed in reverse of -1 ‰: set 0 ‰ to 1000 ‰",
            SpeedLimitsConfig { forward: Permille::new(0).unwrap(), reverse: Permille::new(0).unwrap(), rotation: Permille::new(-1).unwrap() } => "largest rotation of -1 ‰: set 0 ‰ to 1000 ‰",
        ],
        inputs: (ratio(), ratio(), sides()),
        step: |block, (drive, steer, sides)| (block.step(drive, steer), block.apply(sides)),
    }
}
