//! What the two sides of the machine shall do.

use crate::quantity::{Ratio, shift_nearest};

/// A command or a motion of the left and the right side, forward positive.
///
/// ```
/// use trunnion::propel::Sides;
/// use trunnion::quantity::Ratio;
///
/// let pivot = Sides { left: Ratio::ONE, right: Ratio::ZERO };
/// assert_eq!(pivot.mean().to_permille().raw(), 500);
/// assert_eq!(pivot.half_difference().to_permille().raw(), 500); // clockwise
/// assert_eq!(pivot.swapped().half_difference().to_permille().raw(), -500);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Sides {
    /// Left side, forward positive.
    pub left: Ratio,
    /// Right side, forward positive.
    pub right: Ratio,
}

impl Sides {
    /// Neither side moves.
    pub const ZERO: Self = Self { left: Ratio::ZERO, right: Ratio::ZERO };

    /// Both sides alike.
    pub const fn straight(drive: Ratio) -> Self {
        Self { left: drive, right: drive }
    }

    /// Sides against each other, positive is clockwise seen from above.
    pub const fn spin(clockwise: Ratio) -> Self {
        Self { left: clockwise, right: clockwise.reversed() }
    }

    /// True when neither side moves.
    #[must_use]
    pub const fn is_zero(self) -> bool {
        self.left.is_zero() && self.right.is_zero()
    }

    /// Each side the other way.
    #[must_use]
    pub const fn reversed(self) -> Self {
        Self { left: self.left.reversed(), right: self.right.reversed() }
    }

    /// Left for right.
    #[must_use]
    pub const fn swapped(self) -> Self {
        Self { left: self.right, right: self.left }
    }

    /// Travel: half the sum, forward positive, rounded to nearest with ties away from zero.
    #[must_use]
    pub const fn mean(self) -> Ratio {
        let sum = (self.left.to_bits() as i64).wrapping_add(self.right.to_bits() as i64);
        Ratio::saturating(shift_nearest(sum, 1))
    }

    /// Rotation: half the difference, clockwise positive, rounded to nearest with ties away from zero.
    #[must_use]
    pub const fn half_difference(self) -> Ratio {
        let difference = (self.left.to_bits() as i64).wrapping_sub(self.right.to_bits() as i64);
        Ratio::saturating(shift_nearest(difference, 1))
    }

    /// Magnitude of the faster side.
    #[must_use]
    pub const fn largest(self) -> Ratio {
        self.left.magnitude().at_least(self.right.magnitude())
    }

    /// Both sides by the same share; rounds as [`Ratio::times`].
    #[must_use]
    pub const fn scaled(self, share: Ratio) -> Self {
        Self { left: self.left.times(share), right: self.right.times(share) }
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
        fn mirroring_the_machine_mirrors_its_rotation_and_keeps_its_travel(left in ratio(), right in ratio()) {
            let sides = Sides { left, right };
            prop_assert_eq!(sides.swapped().mean(), sides.mean());
            prop_assert_eq!(sides.swapped().half_difference(), sides.half_difference().reversed());
            prop_assert_eq!(sides.reversed().mean(), sides.mean().reversed());
            prop_assert!(sides.mean().magnitude() <= sides.largest());
        }
    }

    proptest! {
        #[test]
        fn only_both_sides_at_rest_are_rest(bits in -2..=2, other in -2..=2) {
            let ratio = |bits| Ratio::from_bits(bits).unwrap();
            let sides = Sides { left: ratio(bits), right: ratio(other) };
            prop_assert_eq!(sides.is_zero(), sides == Sides::ZERO);
        }
    }
}
