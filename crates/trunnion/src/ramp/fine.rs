//! The scale on which ramps remember: 2⁻⁴², so that one step of a slow ramp is still many units.
//!
//! A full scale in 120 s at a period of 100 µs is 1.2 million steps of 3.7 million units each.

use crate::quantity::{Millis, Period, Ratio, shift_nearest};

/// Units in full scale.
pub(crate) const ONE: i64 = 1 << 42;
const BITS_PER_STEP_OF_RATIO: u32 = 12;
const UNITS_PER_STEP_OF_RATIO: i64 = 1 << BITS_PER_STEP_OF_RATIO;
const LIMB: u32 = 20;
/// What a scaled value is held at.
const LARGEST: u64 = 1 << 61;

/// Exact.
pub(crate) const fn from_ratio(ratio: Ratio) -> i64 {
    (ratio.to_bits() as i64).wrapping_mul(UNITS_PER_STEP_OF_RATIO)
}

/// To nearest, ties away from zero; held in [-1, 1].
pub(crate) const fn to_ratio(fine: i64) -> Ratio {
    Ratio::held(shift_nearest(fine, BITS_PER_STEP_OF_RATIO) as i32)
}

/// Change in one period that covers full scale in `time`: rounded up, so that nothing arrives late; at most
/// one full scale.
pub(crate) const fn rate(time: Millis, period: Period) -> i64 {
    let micros = (time.ticks() as i64).wrapping_mul(1000);
    // At most 2⁴² · 10⁶, and 10⁶ is below 2²⁰.
    let product = ONE.wrapping_mul(period.micros() as i64).saturating_add(micros.saturating_sub(1));
    match product.checked_div(micros) {
        Some(rate) if rate < ONE => rate,
        _ => ONE,
    }
}

/// `from`, moved by at most `rate` towards `goal` and never past it: none of them above 62 bits, so that nothing wraps.
pub(crate) const fn approach(from: i64, goal: i64, rate: i64) -> i64 {
    let difference = goal.wrapping_sub(from);
    if difference > rate {
        from.wrapping_add(rate)
    } else if difference < rate.wrapping_neg() {
        from.wrapping_sub(rate)
    } else {
        goal
    }
}

/// They point opposite ways, and neither is zero.
pub(crate) const fn opposed(one: i64, other: i64) -> bool {
    (one ^ other) < 0 && one != 0 && other != 0
}

/// `to_ratio` of a magnitude of at most 1.
pub(crate) const fn magnitude_to_ratio(fine: i64) -> Ratio {
    let raised = fine.cast_unsigned().wrapping_add(UNITS_PER_STEP_OF_RATIO.unsigned_abs() / 2);
    Ratio::within_range(raised.wrapping_shr(BITS_PER_STEP_OF_RATIO) as i32)
}

/// `from_ratio` of a magnitude; of what is below zero, zero.
pub(crate) const fn magnitude_from_ratio(ratio: Ratio) -> i64 {
    let bits = if ratio.to_bits() < 0 { 0 } else { ratio.to_bits().cast_unsigned() };
    (bits as u64).wrapping_shl(BITS_PER_STEP_OF_RATIO).cast_signed()
}

/// One period from one magnitude towards another, neither of them below zero.
#[inline]
pub(crate) const fn from_magnitude(from: i64, goal: i64, rise: i64, fall: i64) -> i64 {
    if goal > from {
        let raised = from.wrapping_add(rise);
        if raised < goal { raised } else { goal }
    } else {
        let lowered = from.wrapping_sub(fall);
        if lowered > goal { lowered } else { goal }
    }
}

/// `value · numerator / denominator` for magnitudes up to two full scales, at most 10 units off, without a
/// product wider than 64 bits.
///
/// Odd in `value`, monotone in `value` and in `numerator`, and never larger than `value` while the numerator
/// does not exceed the denominator. A denominator of zero gives zero; a result above 2⁶¹ is held there, so that it can still
/// be added to.
pub(crate) const fn scaled(value: i64, numerator: i64, denominator: i64) -> i64 {
    let magnitude = value.unsigned_abs();
    let (whole, rest) = divided(numerator.unsigned_abs(), denominator.unsigned_abs());
    let (first, second) = share(rest, denominator.unsigned_abs());
    // A magnitude of at most 2⁴³ by a limb of 20 bits, and by another one below that.
    let below_one =
        magnitude.wrapping_mul(first).wrapping_add(magnitude.wrapping_mul(second).wrapping_shr(LIMB));
    let below_one = below_one.wrapping_shr(LIMB);
    let whole_part = match whole {
        0 => 0,
        1 => magnitude,
        more => {
            let product = magnitude.saturating_mul(more);
            if product > LARGEST { LARGEST } else { product }
        }
    };
    let sum = whole_part.wrapping_add(below_one) as i64;
    if value < 0 { sum.wrapping_neg() } else { sum }
}

/// Quotient and rest. What is asked for is most often less than the whole, or little more: no division.
const fn divided(value: u64, divisor: u64) -> (u64, u64) {
    if value < divisor {
        return (0, value);
    }
    let rest = value.wrapping_sub(divisor);
    if rest < divisor {
        return (1, rest);
    }
    match (value.checked_div(divisor), value.checked_rem(divisor)) {
        (Some(quotient), Some(rest)) => (quotient, rest),
        _ => (0, 0),
    }
}

/// `part / whole` in two limbs of 20 bits, rounded down, for a part below a whole of at most 2⁴⁷.
///
/// Three digits of 16 bits, each a division of 32 bits by 16 that guesses at most two too much, after Knuth, The Art of
/// Computer Programming, vol. 2, 4.3.1, algorithm D.
const fn share(part: u64, whole: u64) -> (u64, u64) {
    if part == 0 {
        return (0, 0);
    }
    let shift = whole.leading_zeros().saturating_sub(16);
    let (rest, divisor) = (part.wrapping_shl(shift), whole.wrapping_shl(shift));
    let (first, rest) = digit(rest, divisor);
    let (second, rest) = digit(rest, divisor);
    let (third, _) = digit(rest, divisor);
    let high = first.wrapping_shl(4) | second.wrapping_shr(12);
    let low = (second & 0xfff).wrapping_shl(8) | third.wrapping_shr(8);
    (high as u64, low as u64)
}

/// The next 16 bits of `rest / divisor`, and what is left; the highest bit of the divisor is bit 47.
const fn digit(rest: u64, divisor: u64) -> (u32, u64) {
    let Some(guess) = (rest.wrapping_shr(16) as u32).checked_div(divisor.wrapping_shr(32) as u32) else {
        return (0, 0);
    };
    let mut digit = if guess > 0xffff { 0xffff } else { guess };
    let shifted = rest.wrapping_shl(16);
    let mut product = divisor.wrapping_mul(digit as u64);
    while product > shifted {
        digit = digit.wrapping_sub(1);
        product = product.wrapping_sub(divisor);
    }
    (digit, shifted.wrapping_sub(product))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Two limbs by long division of 64 bits.
    fn share_by_long_division(part: u64, whole: u64) -> (u64, u64) {
        let (first, rest) = ((part << LIMB) / whole, (part << LIMB) % whole);
        (first, (rest << LIMB) / whole)
    }

    proptest! {
        #[test]
        fn a_share_by_digits_is_that_of_the_long_division(part in 0u64..1 << 43, whole in 1u64..=1 << 43, shift in 0u32..43, near in 0u64..3) {
            let whole = (whole >> shift).max(1);
            for part in [part % whole, (part >> shift) % whole, whole - 1 - near.min(whole - 1)] {
                prop_assert_eq!(share(part, whole), share_by_long_division(part, whole));
            }
        }
    }

    proptest! {
        #[test]
        fn scaling_is_within_ten_units_of_the_exact_quotient(
            value in -2 * ONE..=2 * ONE, numerator in 0..=2 * ONE, denominator in 1..=2 * ONE
        ) {
            let exact = i128::from(value) * i128::from(numerator) / i128::from(denominator);
            prop_assume!(exact.abs() <= 2 * i128::from(ONE));
            let error = exact - i128::from(scaled(value, numerator, denominator));
            prop_assert!(error.abs() <= 10, "off by {}", error);
            prop_assert_eq!(scaled(-value, numerator, denominator), -scaled(value, numerator, denominator));
        }

        #[test]
        fn a_factor_below_one_never_enlarges_and_a_larger_factor_never_gives_less(
            value in 0..=2 * ONE, a in 0..=2 * ONE, b in 0..=2 * ONE, denominator in 1..=2 * ONE
        ) {
            let (small, large) = (a.min(b).min(denominator), a.max(b).min(denominator));
            prop_assert!(scaled(value, small, denominator) <= scaled(value, large, denominator));
            prop_assert!(scaled(value, large, denominator) <= value);
            prop_assert_eq!(scaled(value, denominator, denominator), value);
        }

        #[test]
        fn a_whole_factor_is_exact_and_a_huge_one_is_held(value in 1..=2 * ONE, denominator in 1..=ONE, more in 0..ONE) {
            prop_assert_eq!(scaled(value, 2 * denominator, denominator), 2 * value);
            let huge = scaled(value, 2 * ONE, 1);
            prop_assert_eq!(huge, value.saturating_mul(2 * ONE).min(1 << 61));
            prop_assert!(scaled(value, 2 * ONE - more, 2).checked_add(2 * ONE).is_some());
        }

        #[test]
        fn a_magnitude_is_handled_as_what_has_a_sign(bits in 0..=Ratio::ONE_BITS, from in 0..=ONE, rise in 1..=ONE, fall in 1..=ONE) {
            let ratio = Ratio::from_bits(bits).unwrap();
            let goal = magnitude_from_ratio(ratio);
            prop_assert_eq!(goal, from_ratio(ratio));
            prop_assert_eq!(magnitude_from_ratio(ratio.reversed()), 0);
            prop_assert_eq!(magnitude_to_ratio(from), to_ratio(from));
            let rate = if goal > from { rise } else { fall };
            prop_assert_eq!(from_magnitude(from, goal, rise, fall), approach(from, goal, rate));
        }

        #[test]
        fn a_full_scale_takes_its_time_and_at_most_one_period_less(
            time in 10u32..=120_000, micros in Period::MIN_MICROS..=100_000
        ) {
            let period = Period::from_micros(micros).unwrap();
            let rate = rate(Millis::millis(time), period);
            let steps = (ONE + rate - 1) / rate;
            let asked = i64::from(period.steps(Millis::millis(time)));
            prop_assert!(steps <= asked && steps + 1 >= asked, "{} steps instead of {}", steps, asked);
        }
    }

    #[test]
    fn a_ratio_survives_the_round_trip_and_a_bad_denominator_gives_zero() {
        for bits in [0, 1, -1, 12_345, Ratio::ONE_BITS, -Ratio::ONE_BITS] {
            let ratio = Ratio::from_bits(bits).unwrap();
            assert_eq!(to_ratio(from_ratio(ratio)), ratio);
        }
        assert_eq!([2_047, 2_048, -2_047, -2_048].map(|fine| to_ratio(fine).to_bits()), [0, 1, 0, -1]);
        assert_eq!(scaled(5, 1, 0), 0);
        assert_eq!(rate(Millis::millis(0), Period::from_micros(100).unwrap()), ONE);
        assert_eq!(rate(Millis::millis(10), Period::from_micros(100_000).unwrap()), ONE);
        assert!(opposed(1, -2) && !opposed(-1, -2) && !opposed(-3, -3) && !opposed(0, -1) && !opposed(-1, 0));
    }
}
