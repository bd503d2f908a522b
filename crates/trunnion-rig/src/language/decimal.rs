use std::fmt;

/// A decimal number as a person wrote it, exactly: `digits · 10^-places`.
///
/// At most 15 significant digits, so that it is an exact `f64` integer before the point is set; trailing
/// zeros after the point are dropped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decimal {
    digits: i64,
    places: u8,
}

impl Decimal {
    /// Zero.
    pub const ZERO: Self = Self { digits: 0, places: 0 };

    /// Reads digits with at most one point (`12`, `0.5`, `-3.25`); `None` for anything else or more than 15
    /// significant digits.
    pub fn parse(text: &str) -> Option<Self> {
        let (negative, unsigned) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text),
        };
        let (whole, fraction) = match unsigned.split_once('.') {
            Some((_, "")) => return None,
            Some(parts) => parts,
            None => (unsigned, ""),
        };
        let is_digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
        if whole.is_empty() || !is_digits(whole) || !is_digits(fraction) {
            return None;
        }
        let whole = whole.trim_start_matches('0');
        let fraction = fraction.trim_end_matches('0');
        if whole.len() + fraction.len() > 15 {
            return None;
        }
        let digits = [whole, fraction].concat();
        let digits = if digits.is_empty() { 0 } else { digits.parse::<i64>().ok()? };
        let places = u8::try_from(fraction.len()).ok()?;
        Some(Self { digits: if negative { -digits } else { digits }, places })
    }

    /// A whole number; beyond 15 digits the nearest that has 15.
    pub fn whole(value: i64) -> Self {
        const MOST: i64 = 999_999_999_999_999;
        Self { digits: value.clamp(-MOST, MOST), places: 0 }
    }

    /// The same number with the other sign.
    #[must_use]
    pub fn negated(self) -> Self {
        Self { digits: -self.digits, places: self.places }
    }

    /// True for 0, however many zeros were written.
    pub fn is_zero(self) -> bool {
        self.digits == 0
    }

    /// The number times `numerator / denominator`, rounded once to the nearest `f64`; `denominator` is not
    /// zero.
    pub fn scaled(self, numerator: i64, denominator: i64) -> f64 {
        let (above, below) = self.fraction(numerator, denominator);
        above as f64 / below as f64
    }

    /// The number times `numerator / denominator` when that is a whole number that fits.
    pub fn scaled_whole(self, numerator: i64, denominator: i64) -> Option<i64> {
        let (above, below) = self.fraction(numerator, denominator);
        if above % below != 0 {
            return None;
        }
        i64::try_from(above / below).ok()
    }

    /// The nearest `f64`.
    pub fn value(self) -> f64 {
        self.scaled(1, 1)
    }

    /// `self · numerator / denominator` in lowest terms; 10^15 · 2^63 fits an `i128`.
    fn fraction(self, numerator: i64, denominator: i64) -> (i128, i128) {
        let above = i128::from(self.digits) * i128::from(numerator);
        let below = i128::from(denominator) * 10_i128.pow(u32::from(self.places));
        let divisor = greatest_common_divisor(above.abs(), below.abs()).max(1) * below.signum();
        (above / divisor, below / divisor)
    }
}

fn greatest_common_divisor(mut a: i128, mut b: i128) -> i128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.digits < 0 { "-" } else { "" };
        let digits = self.digits.unsigned_abs().to_string();
        let places = usize::from(self.places);
        if places == 0 {
            return write!(f, "{sign}{digits}");
        }
        let digits = format!("{digits:0>width$}", width = places + 1);
        let (whole, fraction) = digits.split_at(digits.len() - places);
        write!(f, "{sign}{whole}.{fraction}")
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn only_plain_decimals_are_read() {
        for wrong in ["", ".", ".5", "1.", "1e3", "1_000", "--1", "+1", "1.2.3", "1234567890123456"] {
            assert_eq!(Decimal::parse(wrong), None, "{wrong}");
        }
        assert_eq!(Decimal::parse("007.50"), Decimal::parse("7.5"));
        assert_eq!(Decimal::parse("-0.05").unwrap().to_string(), "-0.05");
    }

    #[test]
    fn scaling_rounds_once() {
        // 0.57 · 100 is 56.99999999999999 when multiplied as f64.
        assert_eq!(Decimal::parse("0.57").unwrap().scaled(100, 1), 57.0);
        assert_eq!(Decimal::parse("0.57").unwrap().scaled_whole(100, 1), Some(57));
        assert_eq!(Decimal::parse("12.5").unwrap().scaled_whole(1, 1), None);
        assert_eq!(Decimal::parse("36").unwrap().scaled(1000, 3600), 10.0);
    }

    proptest! {
        #[test]
        fn printing_and_reading_give_the_same_number(digits in -999_999_999_999_i64..=999_999_999_999, places in 0_usize..9) {
            let digits_text = format!("{:0>width$}", digits.unsigned_abs(), width = places + 1);
            let (whole, fraction) = digits_text.split_at(digits_text.len() - places);
            let text = format!("{}{whole}{}{fraction}", if digits < 0 { "-" } else { "" }, if places > 0 { "." } else { "" });
            let number = Decimal::parse(&text).unwrap();
            prop_assert_eq!(Decimal::parse(&number.to_string()), Some(number));
            prop_assert_eq!(number.value(), text.parse::<f64>().unwrap());
        }

        #[test]
        fn any_text_is_read_or_refused(text in ".*") {
            let _ = Decimal::parse(&text);
        }
    }
}
