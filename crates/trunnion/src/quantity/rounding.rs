//! The one rounding rule of the crate, and the exact products and quotients that follow it.
//!
//! A step never divides 64 bits by 64: that is a call of 100 to 800 instructions on a Cortex-M. Shares of 1 are
//! multiplied and shifted; what is divided by is known to fit 32 bits.

/// `value · numerator / denominator`, rounded to nearest with ties away from zero: symmetric about zero.
///
/// A denominator of zero or below gives zero. The product must fit 64 bits, which holds for every caller:
/// factors are at most 2³² and 2³⁰; a larger product wraps nowhere but is held at the ends of 64 bits.
/// Costs one or two divisions of 32 bits where denominator and quotient are that short; else one of 64: for `new` and
/// `reconfigure`.
pub(crate) const fn scale_symmetric(value: i64, numerator: i64, denominator: i64) -> i64 {
    if denominator <= 0 {
        return 0;
    }
    let product = held_product(value, numerator);
    let divisor = denominator.unsigned_abs();
    let rounded = product.unsigned_abs().saturating_add(divisor.wrapping_shr(1));
    signed(floor_quotient(rounded, divisor), product < 0)
}

/// `value · numerator / 2^bits`, rounded to nearest with ties away from zero, without a division: for constant bits, 1 to 62.
///
/// The product is held at the ends of 64 bits, as that of [`scale_symmetric`].
#[inline]
pub(crate) const fn shift_symmetric(value: i64, numerator: i64, bits: u32) -> i64 {
    match short_product(value, numerator) {
        Some(product) => shift_nearest(product, bits),
        None => shift_long(value, numerator, bits),
    }
}

/// `value / 2^bits`, rounded to nearest with ties away from zero: for a magnitude up to 2⁶² and bits from 1 to 62.
#[inline]
pub(crate) const fn shift_nearest(value: i64, bits: u32) -> i64 {
    // Half a step more, less one below zero, then down: ties go away from zero.
    let half = 1_i64.wrapping_shl(bits.wrapping_sub(1));
    value.wrapping_add(half).wrapping_sub((value < 0) as i64).wrapping_shr(bits)
}

#[inline(never)]
const fn shift_long(value: i64, numerator: i64, bits: u32) -> i64 {
    let product = value.saturating_mul(numerator);
    let half = 1_u64.wrapping_shl(bits.wrapping_sub(1));
    signed(product.unsigned_abs().saturating_add(half).wrapping_shr(bits), product < 0)
}

/// The product, held at the ends of 64 bits. Short factors are the common case, and cheap on a core of 32 bits.
#[inline]
pub(crate) const fn held_product(value: i64, numerator: i64) -> i64 {
    match short_product(value, numerator) {
        Some(product) => product,
        None => value.saturating_mul(numerator),
    }
}

/// The product of factors of 32 bits, at most 2⁶²; nothing where one is longer.
#[inline]
const fn short_product(value: i64, numerator: i64) -> Option<i64> {
    let (short_value, short_numerator) = (value as i32 as i64, numerator as i32 as i64);
    if short_value == value && short_numerator == numerator {
        Some(short_value.wrapping_mul(short_numerator))
    } else {
        None
    }
}

/// A magnitude above i64::MAX can only come from i64::MIN itself.
#[inline]
const fn signed(magnitude: u64, negative: bool) -> i64 {
    let magnitude = if magnitude > i64::MAX as u64 { i64::MAX } else { magnitude as i64 };
    if negative { magnitude.wrapping_neg() } else { magnitude }
}

/// `dividend / divisor`, rounded down; 0 for a divisor of 0.
pub(crate) const fn floor_quotient(dividend: u64, divisor: u64) -> u64 {
    if divisor.wrapping_shr(32) == 0 && dividend.wrapping_shr(32) < divisor {
        return quotient(dividend, divisor as u32) as u64;
    }
    match dividend.checked_div(divisor) {
        Some(quotient) => quotient,
        None => 0,
    }
}

/// Bits below 1 in a share.
pub(crate) const SHARE_BITS: u32 = 30;
const HALF: u64 = 1 << 29;

/// The exact product.
#[inline]
pub(crate) const fn product(a: u32, b: u32) -> u64 {
    if HAS_LONG_MULTIPLY { (a as u64).wrapping_mul(b as u64) } else { product_of_halves(a, b) }
}

/// False on the ARMv6-M cores (Cortex-M0, M0+), whose multiplication gives the low 32 bits only. They are told by
/// their lack of an atomic exchange: the compiler does not name the architecture to stable code.
const HAS_LONG_MULTIPLY: bool = !cfg!(all(target_arch = "arm", not(target_has_atomic = "32")));

/// Four products of 16 bits: cheaper than the 64-bit library routine, which multiplies the zeros above, too.
#[inline]
const fn product_of_halves(a: u32, b: u32) -> u64 {
    let lowest = low(a).wrapping_mul(low(b));
    // At most (2¹⁶ − 1)² + 2¹⁶ − 1, then again that much, carry included: neither sum wraps.
    let first = high(a).wrapping_mul(low(b)).wrapping_add(high(lowest));
    let second = low(a).wrapping_mul(high(b)).wrapping_add(low(first));
    let top = high(a).wrapping_mul(high(b)).wrapping_add(high(first)).wrapping_add(high(second));
    (top as u64).wrapping_shl(32) | (second.wrapping_shl(16) | low(lowest)) as u64
}

/// `value · share`, the share in steps of 2⁻³⁰, rounded to nearest with ties up: for magnitudes up to 2³⁰.
///
/// The share is at most 1, so that the result is at most `value`.
#[inline]
pub(crate) const fn part(value: u32, share: u32) -> u32 {
    if HAS_LONG_MULTIPLY { nearest(product(value, share)) } else { part_of_halves((value, share), (0, 0)) }
}

/// The sum of two such parts, rounded once. The shares are at most 1 together.
#[inline]
pub(crate) const fn parts(first: (u32, u32), second: (u32, u32)) -> u32 {
    if HAS_LONG_MULTIPLY {
        nearest(product(first.0, first.1).wrapping_add(product(second.0, second.1)))
    } else {
        part_of_halves(first, second)
    }
}

const fn nearest(product: u64) -> u32 {
    product.wrapping_add(HALF).wrapping_shr(SHARE_BITS) as u32
}

const fn low(value: u32) -> u32 {
    value & 0xffff
}

const fn high(value: u32) -> u32 {
    value.wrapping_shr(16)
}

/// The sum of two products, rounded to steps of 2⁻³⁰, without a word of 64 bits.
#[inline]
const fn part_of_halves((a, x): (u32, u32), (b, y): (u32, u32)) -> u32 {
    let (p, q) = (low(a).wrapping_mul(low(x)), low(b).wrapping_mul(low(y)));
    let carried = high(p).wrapping_add(high(q)).wrapping_add(high(low(p).wrapping_add(low(q))));
    // A high half is at most 2¹⁴, and the low half is 0 where it is: below 2³² with the carry.
    let middle = high(a).wrapping_mul(low(x)).wrapping_add(low(a).wrapping_mul(high(x)));
    let middle = middle.wrapping_add(high(b).wrapping_mul(low(y))).wrapping_add(low(b).wrapping_mul(high(y)));
    let middle = middle.wrapping_add(carried);
    let top = high(a).wrapping_mul(high(x)).wrapping_add(high(b).wrapping_mul(high(y)));
    // The bits below 2²⁹ count for nothing: the half that is added to round stands above them.
    let doubled = middle.wrapping_shl(16).wrapping_shr(29).wrapping_add(1).wrapping_shr(1);
    top.wrapping_add(high(middle)).wrapping_shl(2).wrapping_add(doubled)
}

/// `value · share`, the share in steps of 2⁻³⁰ and both at most 1 either way, rounded to nearest with ties away from zero.
#[inline]
pub(crate) const fn signed_part(value: i32, share: i32) -> i32 {
    if HAS_LONG_MULTIPLY {
        let product = (value as i64).wrapping_mul(share as i64);
        // Half a step more, less one for a negative product, then down: ties go away from zero.
        let raised = product.wrapping_add(HALF as i64).wrapping_sub((product < 0) as i64);
        raised.cast_unsigned().wrapping_shr(SHARE_BITS) as u32 as i32
    } else {
        let magnitude = part(value.unsigned_abs(), share.unsigned_abs()) as i32;
        if (value ^ share) < 0 { magnitude.wrapping_neg() } else { magnitude }
    }
}

/// `part / whole` in steps of 2⁻³⁰, rounded to nearest with ties up, at most 1; a whole of 0 gives 0.
pub(crate) const fn fraction(part: u32, whole: u32) -> u32 {
    if whole == 0 {
        return 0;
    }
    if part >= whole {
        return 1 << SHARE_BITS;
    }
    let dividend = (part as u64).wrapping_shl(SHARE_BITS).wrapping_add(whole.wrapping_shr(1) as u64);
    quotient(dividend, whole)
}

/// `dividend / divisor`, rounded down; held at 2³² − 1. A divisor of 0 gives 2³² − 1.
///
/// Two divisions of 32 bits by 16, after Knuth, The Art of Computer Programming, vol. 2, 4.3.1, algorithm D;
/// one of 32 by 32 where the dividend is that short.
#[inline]
pub(crate) const fn quotient(dividend: u64, divisor: u32) -> u32 {
    if dividend.wrapping_shr(32) == 0 {
        match (dividend as u32).checked_div(divisor) {
            Some(quotient) => quotient,
            None => u32::MAX,
        }
    } else {
        long_quotient(dividend, divisor)
    }
}

/// The same by two digits.
#[inline(never)]
const fn long_quotient(dividend: u64, divisor: u32) -> u32 {
    if dividend.wrapping_shr(32) as u32 >= divisor {
        return u32::MAX;
    }
    // With the highest bit of the divisor set, a digit is guessed at most two too large.
    let shift = divisor.leading_zeros();
    let (dividend, divisor) = (dividend.wrapping_shl(shift), divisor.wrapping_shl(shift));
    let low = dividend as u32;
    let (first, rest) = digit(dividend.wrapping_shr(32) as u32, low.wrapping_shr(16), divisor);
    let (second, _) = digit(rest, low & 0xffff, divisor);
    first.wrapping_shl(16) | second
}

/// The next 16 bits of `(rest · 2¹⁶ + following) / divisor`, and what is left. `rest` is below the divisor.
const fn digit(rest: u32, following: u32, divisor: u32) -> (u32, u32) {
    let (high, low) = (divisor.wrapping_shr(16), divisor & 0xffff);
    let Some(mut guess) = rest.checked_div(high) else { return (0, 0) };
    let mut left = rest.wrapping_sub(guess.wrapping_mul(high));
    // A guess of 17 bits, or one whose product with the low half is more than what is left.
    while guess > 0xffff || guess.wrapping_mul(low) > (left.wrapping_shl(16) | following) {
        guess = guess.wrapping_sub(1);
        left = left.wrapping_add(high);
        if left > 0xffff {
            break;
        }
    }
    let shifted = rest.wrapping_shl(16) | following;
    (guess, shifted.wrapping_sub(guess.wrapping_mul(divisor)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const ONE: u32 = 1 << 30;

    /// A number of any length, so that small and large ones are met alike.
    fn any_length() -> impl Strategy<Value = u32> {
        (any::<u32>(), 0u32..32).prop_map(|(bits, shift)| bits >> shift)
    }

    #[test]
    fn a_product_is_whole_though_only_one_of_its_factors_is_long() {
        assert_eq!([held_product(3, 1 << 33), held_product(1 << 33, 3)], [3 << 33; 2]);
        assert_eq!([held_product(i64::MAX, 2), held_product(i64::MIN, 2)], [i64::MAX, i64::MIN]);
    }

    proptest! {
        #[test]
        fn the_result_is_the_nearest_integer_and_odd_in_its_argument(
            value in -(1i64 << 32)..(1i64 << 32), numerator in -(1i64 << 30)..(1i64 << 30), denominator in 1i64..(1i64 << 32)
        ) {
            let result = scale_symmetric(value, numerator, denominator);
            let exact = i128::from(value) * i128::from(numerator);
            let error = i128::from(result) * i128::from(denominator) - exact;
            prop_assert!(2 * error.abs() <= i128::from(denominator));
            prop_assert_eq!(scale_symmetric(-value, numerator, denominator), -result);
        }

        #[test]
        fn a_shift_is_a_scale_by_a_power_of_two(value in any::<i64>(), numerator in any::<i64>(), short in 0u32..64, bits in 1u32..=62) {
            let (value, numerator) = (value >> short, numerator >> (63 - short));
            prop_assert_eq!(shift_symmetric(value, numerator, bits), scale_symmetric(value, numerator, 1 << bits));
        }

        #[test]
        fn a_shift_to_nearest_is_a_scale_of_one(value in -(1i64 << 62)..=(1 << 62), short in 0u32..64, bits in 1u32..=62) {
            let value = value >> short;
            prop_assert_eq!(shift_nearest(value, bits), scale_symmetric(value, 1, 1 << bits));
        }

        #[test]
        fn a_quotient_of_any_length_is_that_of_the_division(dividend in any::<u64>(), divisor in 1..=u64::MAX, short in 0u32..64, shorter in 0u32..64) {
            let (dividend, divisor) = (dividend >> short, (divisor >> shorter).max(1));
            prop_assert_eq!(floor_quotient(dividend, divisor), dividend / divisor);
            prop_assert_eq!(floor_quotient(dividend, 0), 0);
        }

        #[test]
        fn the_product_of_halves_is_the_product(a in any_length(), b in any_length()) {
            prop_assert_eq!(product_of_halves(a, b), u64::from(a) * u64::from(b));
            prop_assert_eq!(product(a, b), u64::from(a) * u64::from(b));
        }

        #[test]
        fn a_sum_of_parts_is_rounded_once_and_halves_give_the_same(
            a in 0u32..=1 << 30, b in 0u32..=1 << 30, share in 0u32..=1 << 30, tie in any::<bool>()
        ) {
            let share = if tie { share >> 29 << 29 } else { share };
            let rest = (1 << 30) - share;
            let exact = u128::from(a) * u128::from(share) + u128::from(b) * u128::from(rest);
            let expected = ((exact + (1 << 29)) >> 30) as u32;
            prop_assert_eq!(parts((a, share), (b, rest)), expected);
            prop_assert_eq!(part_of_halves((a, share), (b, rest)), expected);
            prop_assert_eq!(part_of_halves((a, share), (0, 0)), part(a, share));
        }

        #[test]
        fn a_part_follows_the_rounding_rule(value in -(1i32 << 30)..=1 << 30, share in -(1i32 << 30)..=1 << 30, tie in any::<bool>()) {
            // Ties need a product with 29 zeros: a share of an odd half.
            let share = if tie { share >> 29 << 29 } else { share };
            let expected = scale_symmetric(value.into(), share.into(), 1 << 30);
            prop_assert_eq!(i64::from(signed_part(value, share)), expected);
            prop_assert_eq!(i64::from(part(value.unsigned_abs(), share.unsigned_abs())), expected.abs());
        }

        #[test]
        fn a_fraction_follows_the_rounding_rule(part in any_length(), whole in any_length()) {
            let expected = scale_symmetric(part.into(), 1 << 30, whole.into()).min(1 << 30);
            prop_assert_eq!(i64::from(fraction(part, whole)), expected);
        }

        #[test]
        fn a_fraction_near_a_tie_and_near_a_wrong_guess_follows_the_rounding_rule(
            whole in 1u32.., quotient in 0u32..1 << 30, off in -2i64..=2
        ) {
            let doubled = (u64::from(whole) * (2 * u64::from(quotient) + 1)) >> 31;
            let part = (doubled as i64 + off).clamp(0, u32::MAX.into()) as u32;
            let expected = scale_symmetric(part.into(), 1 << 30, whole.into()).min(1 << 30);
            prop_assert_eq!(i64::from(fraction(part, whole)), expected);
        }
    }

    proptest! {
        #[test]
        fn a_quotient_is_that_of_the_division(dividend in any::<u64>(), shift in 0u32..64, divisor in any_length()) {
            let dividend = dividend >> shift;
            let expected = dividend.checked_div(divisor.into()).map_or(u32::MAX, |exact| exact.min(u32::MAX.into()) as u32);
            prop_assert_eq!(quotient(dividend, divisor), expected);
        }

        #[test]
        fn a_quotient_beside_a_whole_one_is_that_of_the_division(divisor in any_length(), whole in any::<u32>(), off in -2i64..=2) {
            let dividend = (u64::from(divisor) * u64::from(whole)).saturating_add_signed(off);
            let expected = dividend.checked_div(divisor.into()).map_or(u32::MAX, |exact| exact.min(u32::MAX.into()) as u32);
            prop_assert_eq!(quotient(dividend, divisor), expected);
        }
    }

    #[test]
    fn parts_at_the_ends_of_their_halves_are_exact() {
        let edges =
            [0, 1, 0x7fff, 0x8000, 0xffff, 0x1_0000, 0x1fff_ffff, 0x2000_0000, 0x3fff_0000, 0x3fff_ffff, ONE];
        for a in edges {
            for b in edges {
                for share in edges {
                    let exact = u128::from(a) * u128::from(share) + u128::from(b) * u128::from(ONE - share);
                    let expected = ((exact + (1 << 29)) >> 30) as u32;
                    assert_eq!(part_of_halves((a, share), (b, ONE - share)), expected, "{a} {b} {share}");
                }
            }
        }
    }

    #[test]
    fn fractions_at_the_ends_of_their_digits_are_exact() {
        let edges = [
            1,
            2,
            3,
            0x7fff,
            0x8000,
            0xffff,
            0x1_0000,
            0x1_0001,
            0x7fff_ffff,
            0x8000_0000,
            0x8000_ffff,
            u32::MAX,
        ];
        for whole in edges {
            for part in edges {
                for part in [part - 1, part, part.saturating_add(1)] {
                    let expected = scale_symmetric(part.into(), 1 << 30, whole.into()).min(1 << 30);
                    assert_eq!(i64::from(fraction(part, whole)), expected, "{part} / {whole}");
                }
            }
        }
        assert_eq!((fraction(5, 0), fraction(0, 5), fraction(5, 5)), (0, 0, ONE));
    }

    #[test]
    fn ties_go_away_from_zero_and_a_bad_denominator_gives_zero() {
        assert_eq!(scale_symmetric(5, 1, 2), 3);
        assert_eq!(scale_symmetric(-5, 1, 2), -3);
        assert_eq!(scale_symmetric(5, 1, 0), 0);
        assert_eq!(scale_symmetric(5, 1, -2), 0);
        assert_eq!(scale_symmetric(i64::MIN, i64::MAX, 1), -i64::MAX);
        assert_eq!((signed_part(5, 1 << 29), signed_part(-5, 1 << 29), part(5, 1 << 29)), (3, -3, 3));
    }
}
