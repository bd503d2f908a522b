//! The one rounding rule of the crate.

/// `value · numerator / denominator`, rounded to nearest with ties away from zero: symmetric about zero.
///
/// A denominator of zero or below gives zero. The product must fit 64 bits, which holds for every caller:
/// factors are at most 2³² and 2³⁰; a larger product wraps nowhere but is held at the ends of 64 bits.
pub(crate) const fn scale_symmetric(value: i64, numerator: i64, denominator: i64) -> i64 {
    if denominator <= 0 {
        return 0;
    }
    let product = value.saturating_mul(numerator);
    let magnitude = product.unsigned_abs();
    let divisor = denominator.unsigned_abs();
    let rounded = magnitude.saturating_add(divisor.wrapping_shr(1));
    let quotient = match rounded.checked_div(divisor) {
        Some(quotient) => quotient,
        None => 0,
    };
    // A magnitude above i64::MAX can only come from i64::MIN itself.
    let quotient = if quotient > i64::MAX as u64 { i64::MAX } else { quotient as i64 };
    if product < 0 { quotient.wrapping_neg() } else { quotient }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

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
    }

    #[test]
    fn ties_go_away_from_zero_and_a_bad_denominator_gives_zero() {
        assert_eq!(scale_symmetric(5, 1, 2), 3);
        assert_eq!(scale_symmetric(-5, 1, 2), -3);
        assert_eq!(scale_symmetric(5, 1, 0), 0);
        assert_eq!(scale_symmetric(5, 1, -2), 0);
        assert_eq!(scale_symmetric(i64::MIN, i64::MAX, 1), -i64::MAX);
    }
}
