//! From a share of a span to a quantity.

use crate::declare::Field;
use crate::quantity::{Ratio, SHARE_BITS, shift_symmetric};

/// A straight line from a share, 0 to 1, to a quantity: what a sensor shows at both ends of its span.
///
/// The ends may descend (a thermistor). Rounds to nearest with ties away from zero, and meets both ends
/// exactly. Types of more than four bytes are refused by the compiler.
///
#[doc = include_str!("../../docs/sense-span.svg")]
///
/// ```
/// use trunnion::quantity::{Kilopascals, Ratio};
/// use trunnion::sense::Span;
///
/// let charge_pressure = Span::new(Kilopascals::ZERO, Kilopascals::new(6_000).unwrap());
/// assert_eq!(charge_pressure.at(Ratio::from_permille(400).unwrap()).raw(), 2_400);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Span<Q> {
    low: Q,
    high: Q,
}

impl<Q: Field> Span<Q> {
    /// Ends and width have no more steps than a ratio, so that all is done in 32 bits.
    const IS_NARROW: bool = Q::MIN_RAW >= -(1 << 29) && Q::MAX_RAW <= 1 << 29;

    /// The quantity at share 0 and at share 1.
    pub const fn new(low: Q, high: Q) -> Self {
        const { assert!(Q::BYTES <= 4, "a span is computed in 64 bits: its ends have at most four bytes") };
        Self { low, high }
    }

    /// The quantity at `share`; a share below zero counts as zero.
    pub fn at(&self, share: Ratio) -> Q {
        let (low, high) = (self.low.to_raw(), self.high.to_raw());
        let share = share.at_least(Ratio::ZERO);
        // Of ends of four bytes, or narrow ones: neither the width nor the sum wraps.
        Q::held(if Self::IS_NARROW {
            let (low, high) = (low as i32, high as i32);
            let width = Ratio::within_range(high.wrapping_sub(low));
            i64::from(low.wrapping_add(width.times(share).to_bits()))
        } else {
            let width = high.wrapping_sub(low);
            low.wrapping_add(shift_symmetric(width, i64::from(share.to_bits()), SHARE_BITS))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Celsius, Kilopascals, Rpm};
    use proptest::prelude::*;

    fn share() -> impl Strategy<Value = Ratio> {
        (0..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    #[test]
    fn a_descending_span_falls_and_a_share_below_zero_counts_as_zero() {
        let oil = Span::new(Celsius::new(1_200).unwrap(), Celsius::new(-400).unwrap());
        assert_eq!(oil.at(Ratio::from_permille(250).unwrap()).raw(), 800);
        assert_eq!(oil.at(Ratio::MINUS_ONE).raw(), 1_200);
    }

    #[test]
    fn the_widest_span_of_four_bytes_is_exact() {
        let widest = Span::new(i32::MIN, i32::MAX);
        assert_eq!((widest.at(Ratio::ZERO), widest.at(Ratio::ONE)), (i32::MIN, i32::MAX));
        assert_eq!(Span::new(0, u32::MAX).at(Ratio::from_permille(500).unwrap()), 1 << 31);
    }

    /// Only downwards, and that further than a ratio has steps.
    #[derive(Debug, Clone, Copy, PartialEq)]
    struct Depth(i32);

    impl Field for Depth {
        const BYTES: u8 = 4;
        const UNIT: &'static str = "nm";
        const NUMERATOR: i64 = 1;
        const DENOMINATOR: i64 = 1;
        const MIN_RAW: i64 = i32::MIN as i64;
        const MAX_RAW: i64 = 0;

        fn to_raw(self) -> i64 {
            self.0.into()
        }

        fn from_raw(raw: i64) -> Option<Self> {
            i32::try_from(raw).ok().map(Self)
        }

        fn held(raw: i64) -> Self {
            Self(raw as i32)
        }
    }

    #[test]
    fn a_quantity_that_is_wide_on_one_side_only_is_exact() {
        let (deepest, none) = (Depth::from_raw(Depth::MIN_RAW).unwrap(), Depth(0));
        let span = Span::new(deepest, none);
        assert_eq!(span.at(Ratio::from_permille(500).unwrap()), Depth(-(1 << 30)));
        assert_eq!((span.at(Ratio::ZERO), span.at(Ratio::ONE)), (deepest, none));
    }

    proptest! {
        #[test]
        fn ends_are_exact_and_all_between_lies_between(low in -100_000..=100_000, high in -100_000..=100_000, share in share()) {
            let (low, high) = (Kilopascals::new(low).unwrap(), Kilopascals::new(high).unwrap());
            let span = Span::new(low, high);
            prop_assert_eq!(span.at(Ratio::ZERO), low);
            prop_assert_eq!(span.at(Ratio::ONE), high);
            prop_assert!(span.at(share) >= low.at_most(high) && span.at(share) <= low.at_least(high));
        }

        #[test]
        fn a_span_is_monotone_and_nearest_to_the_exact_line(high in 1..=524_287, a in share(), b in share()) {
            let span = Span::new(Rpm::ZERO, Rpm::new(high).unwrap());
            prop_assert_eq!(a <= b || span.at(b) <= span.at(a), true);
            let exact = i128::from(high) * i128::from(a.to_bits());
            let error = (i128::from(span.at(a).raw()) << 30) - exact;
            prop_assert!(error.abs() * 2 <= 1 << 30);
        }
    }
}
