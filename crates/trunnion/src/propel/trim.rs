//! Straight-line trim.

use core::fmt;

use super::sides::Sides;
use crate::quantity::{Permille, Ratio};

/// Reductions of a [`Trim`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TrimConfig {
    /// What the left side gets less, 0 to 200 ‰ of its command.
    pub left: Permille,
    /// What the right side gets less, 0 to 200 ‰ of its command.
    pub right: Permille,
}

/// Why a [`TrimConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TrimConfigError {
    /// The reduction of the left side is outside 0 to 200 ‰.
    Left(Permille),
    /// The reduction of the right side is outside 0 to 200 ‰.
    Right(Permille),
}

impl fmt::Display for TrimConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (side, given) = match self {
            Self::Left(given) => ("left", given),
            Self::Right(given) => ("right", given),
        };
        let high = Trim::MOST.raw();
        write!(
            formatter,
            "trim of the {side} side by {} ‰: set 0 ‰ to {high} ‰ on the faster side",
            given.raw()
        )
    }
}

impl core::error::Error for TrimConfigError {}

/// Slows the faster side a little, so that the machine drives straight.
///
/// Only ever reduces; rounds to nearest, ties away from zero.
///
#[doc = include_str!("../../docs/propel-trim.svg")]
///
/// ```
/// use trunnion::propel::{Sides, Trim, TrimConfig};
/// use trunnion::quantity::{Permille, Ratio};
///
/// let config = TrimConfig { left: Permille::new(30).unwrap(), right: Permille::ZERO };
/// let trimmed = Trim::new(config).unwrap().step(Sides::straight(Ratio::ONE));
/// assert_eq!((trimmed.left.to_permille().raw(), trimmed.right.to_permille().raw()), (970, 1000));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Trim {
    left: Ratio,
    right: Ratio,
}

impl Trim {
    /// Largest reduction.
    pub const MOST: Permille = Permille::new(200).unwrap();

    /// Refuses a reduction outside 0 to 200 ‰.
    ///
    /// # Errors
    ///
    /// [`TrimConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: TrimConfig) -> Result<Self, TrimConfigError> {
        if config.left.raw() < 0 || config.left.raw() > Self::MOST.raw() {
            return Err(TrimConfigError::Left(config.left));
        }
        if config.right.raw() < 0 || config.right.raw() > Self::MOST.raw() {
            return Err(TrimConfigError::Right(config.right));
        }
        Ok(Self { left: remaining(config.left), right: remaining(config.right) })
    }

    /// Other reductions.
    ///
    /// # Errors
    ///
    /// [`TrimConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: TrimConfig) -> Result<(), TrimConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The trimmed sides.
    pub const fn step(&self, sides: Sides) -> Sides {
        Sides { left: sides.left.times(self.left), right: sides.right.times(self.right) }
    }
}

const fn remaining(reduction: Permille) -> Ratio {
    Ratio::from_quotient(1000i64.wrapping_sub(reduction.raw() as i64), 1000)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_trim_only_reduces_and_treats_forward_and_reverse_alike(
            left in 0i16..=200, right in 0i16..=200, one in -1000i32..=1000, other in -1000i32..=1000
        ) {
            let (left, right) = (Permille::new(left).unwrap(), Permille::new(right).unwrap());
            let trim = Trim::new(TrimConfig { left, right }).unwrap();
            let mirror = Trim::new(TrimConfig { left: right, right: left }).unwrap();
            let sides =
                Sides { left: Ratio::from_permille(one).unwrap(), right: Ratio::from_permille(other).unwrap() };
            let trimmed = trim.step(sides);
            prop_assert!(trimmed.left.magnitude() <= sides.left.magnitude());
            prop_assert!(trimmed.right.magnitude() <= sides.right.magnitude());
            prop_assert!(!trimmed.left.opposite_direction(sides.left));
            prop_assert_eq!(trim.step(sides.reversed()), trimmed.reversed());
            prop_assert_eq!(mirror.step(sides.swapped()), trimmed.swapped());
        }
    }

    #[test]
    fn a_reduction_outside_its_range_is_refused_with_the_range() {
        let bad = Permille::new(201).unwrap();
        let error = Trim::new(TrimConfig { left: Permille::ZERO, right: bad }).unwrap_err();
        assert_eq!(error, TrimConfigError::Right(bad));
        assert_eq!(
            std::format!("{error}"),
            "trim of the right side by 201 ‰: set 0 ‰ to 200 ‰ on the faster side"
        );
        let negative = Permille::new(-1).unwrap();
        let config = TrimConfig { left: negative, right: Permille::ZERO };
        assert_eq!(Trim::new(config).unwrap_err(), TrimConfigError::Left(negative));
    }

    four_verbs! {
        new: Trim::new,
        configs: (TrimConfig { left: Permille::new(20).unwrap(), right: Permille::new(50).unwrap() }, TrimConfig { left: Permille::new(150).unwrap(), right: Permille::new(90).unwrap() }),
        accepted: [
            TrimConfig { left: Permille::new(0).unwrap(), right: Permille::new(0).unwrap() },
            TrimConfig { left: Permille::new(200).unwrap(), right: Permille::new(200).unwrap() },
        ],
        refused: [
            TrimConfig { left: Permille::new(-1).unwrap(), right: Permille::new(0).unwrap() } => "trim of the left side by -1 ‰: set 0 ‰ to 200 ‰ on the faster side",
            TrimConfig { left: Permille::new(201).unwrap(), right: Permille::new(0).unwrap() } => "trim of the left side by 201 ‰: set 0 ‰ to 200 ‰ on the faster side",
            TrimConfig { left: Permille::new(0).unwrap(), right: Permille::new(-1).unwrap() } => "trim of the right side by -1 ‰: set 0 ‰ to 200 ‰ on the faster side",
            TrimConfig { left: Permille::new(0).unwrap(), right: Permille::new(201).unwrap() } => "trim of the right side by 201 ‰: set 0 ‰ to 200 ‰ on the faster side",
        ],
        inputs: (-1000..=1000, -1000..=1000),
        step: |block, (left, right)| {
            let ratio = |permille| Ratio::from_permille(permille).unwrap();
            block.step(Sides { left: ratio(left), right: ratio(right) })
        },
    }
}
