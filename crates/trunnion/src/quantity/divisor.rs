//! A whole that is known beforehand, so that shares of it cost a multiplication.

use super::Ratio;
use super::rounding::product;

/// A whole above zero, resolved at `new` to its reciprocal.
///
/// [`Divisor::share`] gives bit for bit what the division gives: `part / whole`, rounded to nearest with ties away from
/// zero, at most 1. It costs two multiplications, where a division of 64 bits takes a library routine.
///
/// ```
/// use trunnion::quantity::{Divisor, Ratio};
///
/// let ratio = |permille| Ratio::from_permille(permille).unwrap();
/// let travel = Divisor::new(ratio(900)).unwrap();
/// assert_eq!(travel.share(ratio(-225)), ratio(-225).divided_by(ratio(900)));
/// assert_eq!(travel.share(Ratio::ONE), Ratio::ONE);
/// assert!(Divisor::new(Ratio::ZERO).is_none());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Divisor {
    /// 1 to 2³¹.
    whole: u32,
    /// 2⁶² / (whole · scale), rounded to nearest: 2³⁰ to 2³¹.
    reciprocal: u32,
    /// Power of two that brings the highest bit of the whole to bit 31.
    scale: u32,
}

impl Divisor {
    /// The whole 1.
    pub const ONE: Self = Self::of(Ratio::ONE_BITS.unsigned_abs());

    /// From a share above zero; `None` otherwise.
    pub const fn new(whole: Ratio) -> Option<Self> {
        if whole.to_bits() <= 0 { None } else { Some(Self::of(whole.to_bits().unsigned_abs())) }
    }

    /// From steps of any unit, 1 to 2³¹; 0 counts as 1 and more than 2³¹ as that.
    pub(crate) const fn of(whole: u32) -> Self {
        const LARGEST: u32 = 1 << 31;
        let whole = if whole == 0 {
            1
        } else if whole > LARGEST {
            LARGEST
        } else {
            whole
        };
        let shift = whole.leading_zeros();
        let shifted = whole.wrapping_shl(shift) as u64;
        let rounded = (1u64 << 62).wrapping_add(shifted.wrapping_shr(1));
        let reciprocal = match rounded.checked_div(shifted) {
            Some(reciprocal) => reciprocal as u32,
            None => 0,
        };
        Self { whole, reciprocal, scale: 1u32.wrapping_shl(shift) }
    }

    /// The whole, in steps.
    pub(crate) const fn whole(&self) -> u32 {
        self.whole
    }

    /// `part / whole`, rounded to nearest with ties away from zero and held in [-1, 1].
    pub const fn share(&self, part: Ratio) -> Ratio {
        let magnitude = Ratio::held(self.fraction(part.to_bits().unsigned_abs()) as i32);
        if part.to_bits() < 0 { magnitude.reversed() } else { magnitude }
    }

    /// `part / whole` in steps of 2⁻³⁰, rounded to nearest with ties up, at most 1.
    #[inline]
    pub(crate) const fn fraction(&self, part: u32) -> u32 {
        if part >= self.whole {
            return Ratio::ONE_BITS.unsigned_abs();
        }
        // The reciprocal is off by half a unit at most and the part is below the whole: what is taken for the quotient
        // is less than half a step off before its fraction is dropped, so the nearest is this one or the next.
        let aligned = part.wrapping_mul(self.scale);
        let quotient = product(aligned, self.reciprocal).wrapping_shr(32) as u32;
        // Rounds as the division does: half of the whole is added, the rest is below twice the whole.
        let dividend = part.wrapping_shl(30).wrapping_add(self.whole.wrapping_shr(1));
        let rest = dividend.wrapping_sub(quotient.wrapping_mul(self.whole));
        quotient.wrapping_add((rest >= self.whole) as u32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::scale_symmetric;
    use proptest::prelude::*;

    fn expected(part: u32, whole: u32) -> u32 {
        scale_symmetric(part.into(), 1 << 30, whole.into()).min(1 << 30) as u32
    }

    proptest! {
        #[test]
        fn a_share_is_that_of_the_division(part in any::<u32>(), whole in 1u32..=1 << 31, shift in 0u32..31) {
            let whole = (whole >> shift).max(1);
            for part in [part % whole, part, part >> shift] {
                prop_assert_eq!(Divisor::of(whole).fraction(part), expected(part, whole));
            }
        }

        #[test]
        fn a_share_near_a_tie_is_that_of_the_division(whole in 1u32..=1 << 31, shift in 0u32..31, quotient in 0u64..1 << 30, off in -2i64..=2) {
            let whole = (whole >> shift).max(1);
            let part = (((u64::from(whole) * (2 * quotient + 1)) >> 31) as i64 + off).max(0) as u32;
            prop_assert_eq!(Divisor::of(whole).fraction(part), expected(part, whole));
        }

        #[test]
        fn both_signs_share_alike(part in -Ratio::ONE_BITS..=Ratio::ONE_BITS, whole in 1..=Ratio::ONE_BITS) {
            let (part, whole) = (Ratio::from_bits(part).unwrap(), Ratio::from_bits(whole).unwrap());
            let divisor = Divisor::new(whole).unwrap();
            prop_assert_eq!(divisor.share(part), part.divided_by(whole));
            prop_assert_eq!(divisor.share(part.reversed()), divisor.share(part).reversed());
        }
    }

    #[test]
    fn every_part_of_small_wholes_and_the_ends_of_the_range_are_exact() {
        for whole in 1..=600 {
            for part in 0..=whole + 1 {
                assert_eq!(Divisor::of(whole).fraction(part), expected(part, whole), "{part} / {whole}");
            }
        }
        for whole in [1 << 30, (1 << 30) - 1, (1 << 31) - 1, 1 << 31, (1 << 29) + 1] {
            for part in
                [0, 1, 2, whole / 2 - 1, whole / 2, whole / 2 + 1, whole - 2, whole - 1, whole, u32::MAX]
            {
                assert_eq!(Divisor::of(whole).fraction(part), expected(part, whole), "{part} / {whole}");
            }
        }
        assert_eq!((Divisor::of(0), Divisor::of(u32::MAX).whole()), (Divisor::of(1), 1 << 31));
        assert_eq!(Divisor::ONE.share(Ratio::ONE), Ratio::ONE);
    }
}
