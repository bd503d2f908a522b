//! Round numbers on an axis, and numbers as people write them.

/// Round values inside `low..=high`, some `wanted` of them, on a step of 1, 2 or 5 times a power of ten.
///
/// Returns the values and the number of decimals that tell them apart. Empty when the ends are not finite
/// or not in order.
pub(super) fn ticks(low: f64, high: f64, wanted: usize) -> (Vec<f64>, usize) {
    let span = high - low;
    if !(span > 0.0 && span.is_finite()) {
        return (Vec::new(), 0);
    }
    let rough = span / wanted.max(1) as f64;
    let power = rough.log10().floor();
    let lead = rough / 10f64.powf(power);
    let lead = if lead < 1.5 {
        1.0
    } else if lead < 3.5 {
        2.0
    } else if lead < 7.5 {
        5.0
    } else {
        10.0
    };
    let step = lead * 10f64.powf(power);
    let decimals = (-(power + if lead == 10.0 { 1.0 } else { 0.0 })).max(0.0) as usize;
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    ((first..=last).map(|index| index as f64 * step).collect(), decimals)
}

/// The ends of an axis that fits all values: a little air, and a span for a constant.
///
/// Zero is kept in view when it is close. `None` when no value is finite.
pub(super) fn fit(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let (low, high) = values
        .filter(|value| value.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
    if low > high {
        return None;
    }
    let span = high - low;
    if span <= 1e-9 * high.abs().max(low.abs()).max(1e-6) {
        let air = if high == 0.0 { 1.0 } else { high.abs() * 0.1 };
        return Some((low - air, high + air));
    }
    let low = if low > 0.0 && low < span * 0.35 { 0.0 } else { low };
    let high = if high < 0.0 && -high < span * 0.35 { 0.0 } else { high };
    Some((low - span * 0.06, high + span * 0.06))
}

/// A number with so many decimals and a proper minus sign; never "−0".
pub(super) fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

/// A number with four significant digits at most, without trailing zeros, and never in powers.
pub(super) fn significant(value: f64) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let power = if value == 0.0 { 0.0 } else { value.abs().log10().floor() };
    let text = number(value, (3.0 - power).clamp(0.0, 6.0) as usize);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        assert_eq!(ticks(0.0, 60.0, 6), (vec![0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0], 0));
        assert_eq!(ticks(-1.0, 1.0, 4).0, vec![-1.0, -0.5, 0.0, 0.5, 1.0]);
        let (values, decimals) = ticks(12.303, 12.341, 5);
        assert_eq!(decimals, 2);
        assert!(values.iter().all(|value| (12.303..=12.341).contains(value)), "{values:?}");
        assert_eq!(ticks(0.0, 9.9, 1).0, vec![0.0]);
    }

    #[test]
    fn no_axis_comes_of_nothing() {
        assert_eq!(ticks(1.0, 1.0, 5).0, Vec::<f64>::new());
        assert_eq!(ticks(0.0, f64::NAN, 5).0, Vec::<f64>::new());
        assert_eq!(fit([f64::NAN].into_iter()), None);
    }

    #[test]
    fn a_constant_gets_an_axis_around_it() {
        assert_eq!(fit([0.0, 0.0].into_iter()), Some((-1.0, 1.0)));
        let (low, high) = fit([1450.0; 3].into_iter()).unwrap();
        assert!(low < 1450.0 && high > 1450.0);
    }

    #[test]
    fn numbers_are_written_as_people_write_them() {
        assert_eq!(number(-0.001, 2), "0.00");
        assert_eq!(number(-1.5, 1), "−1.5");
        assert_eq!(significant(-12.345_6), "−12.35");
        assert_eq!(significant(0.25), "0.25");
        assert_eq!(significant(123_456.0), "123456");
        assert_eq!(significant(f64::NAN), "–");
    }
}
