//! Why not: a set of named conditions.

/// A set of up to 32 reasons, by bit number.
///
/// The machine gives each bit its name with an enum of its own, lowest number first where it matters most:
///
/// ```
/// use trunnion::declare::Field;
/// use trunnion::guard::Reasons;
///
/// trunnion::choices! {
///     /// What can keep the drive from moving.
///     pub enum DriveReason {
///         /// Nobody sits there.
///         SeatEmpty = "seat_empty",
///         /// The restraint bar is up.
///         BarUp = "bar_up",
///     }
/// }
///
/// let why_not = Reasons::none()
///     .with_if(DriveReason::SeatEmpty as u8, false)
///     .with_if(DriveReason::BarUp as u8, true);
/// assert!(!why_not.is_empty());
/// let shown = why_not.lowest().and_then(|bit| DriveReason::from_raw(i64::from(bit)));
/// assert_eq!(shown, Some(DriveReason::BarUp));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Reasons(u32);

impl Reasons {
    /// Number of bits.
    pub const CAPACITY: u8 = 32;

    /// Nothing stands against it.
    pub const fn none() -> Self {
        Self(0)
    }

    /// From its bits, lowest number in the lowest bit.
    pub const fn from_bits(bits: u32) -> Self {
        Self(bits)
    }

    /// Its bits, as a trace or a service tool shows them.
    #[must_use]
    pub const fn bits(self) -> u32 {
        self.0
    }

    /// With this reason too. A number of 32 or above names no reason and changes nothing.
    #[must_use]
    pub const fn with(self, bit: u8) -> Self {
        Self(self.0 | mask(bit))
    }

    /// With this reason too, where `present`.
    #[must_use]
    pub const fn with_if(self, bit: u8, present: bool) -> Self {
        if present { self.with(bit) } else { self }
    }

    /// Without this reason.
    #[must_use]
    pub const fn without(self, bit: u8) -> Self {
        Self(self.0 & !mask(bit))
    }

    /// With all reasons of both.
    #[must_use]
    pub const fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Only the reasons that are in both.
    #[must_use]
    pub const fn intersection(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// True when this reason is among them.
    #[must_use]
    pub const fn has(self, bit: u8) -> bool {
        self.0 & mask(bit) != 0
    }

    /// True when nothing stands against it.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// How many reasons there are.
    pub const fn count(self) -> u8 {
        self.0.count_ones() as u8
    }

    /// The reason of the lowest number.
    pub const fn lowest(self) -> Option<u8> {
        if self.0 == 0 { None } else { Some(self.0.trailing_zeros() as u8) }
    }
}

const fn mask(bit: u8) -> u32 {
    match 1u32.checked_shl(bit as u32) {
        Some(mask) => mask,
        None => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_reason_that_was_added_is_there_until_it_is_taken_away(bits: u32, bit in 0u8..32) {
            let reasons = Reasons::from_bits(bits);
            prop_assert!(reasons.with(bit).has(bit));
            prop_assert!(!reasons.without(bit).has(bit));
            prop_assert_eq!(reasons.with(bit).count() - reasons.without(bit).count(), 1);
            prop_assert!(reasons.with(bit).lowest().unwrap() <= bit);
            prop_assert_eq!(reasons.is_empty(), reasons.lowest().is_none());
        }

        #[test]
        fn a_number_beyond_the_last_bit_is_no_reason(bits: u32, bit in 32u8..) {
            let reasons = Reasons::from_bits(bits);
            prop_assert_eq!(reasons.with(bit), reasons);
            prop_assert_eq!(reasons.without(bit), reasons);
            prop_assert!(!reasons.has(bit));
        }
    }

    proptest! {
        #[test]
        fn sets_of_reasons_are_sets(a: u32, b: u32, bit in 0_u8..40) {
            let (one, other) = (Reasons::from_bits(a), Reasons::from_bits(b));
            prop_assert_eq!(one.bits(), a);
            prop_assert_eq!(one.union(other).has(bit), one.has(bit) || other.has(bit));
            prop_assert_eq!(one.intersection(other).has(bit), one.has(bit) && other.has(bit));
            prop_assert_eq!(one.with_if(bit, true), one.with(bit));
            prop_assert_eq!(one.with_if(bit, false), one);
            prop_assert_eq!(u32::from(one.count()), (0..32).filter(|bit| one.has(*bit)).count() as u32);
            prop_assert_eq!(one.lowest(), (0..32).find(|bit| one.has(*bit)));
        }
    }

    #[test]
    fn nothing_is_empty() {
        assert!(Reasons::none().is_empty() && Reasons::none().lowest().is_none());
        assert_eq!(Reasons::none().bits(), 0);
    }
}
