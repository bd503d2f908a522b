//! Raw values as text with their unit, and back.

use trunnion::declare::{FieldInfo, ParameterInfo, Rule};

/// How a raw value is shown.
#[derive(Debug, Clone, Copy)]
pub struct Scale {
    /// Unit, empty for a pure number.
    pub unit: &'static str,
    /// The value is `raw · numerator / denominator`.
    pub numerator: i64,
    /// See [`numerator`](Self::numerator).
    pub denominator: i64,
    /// Names by raw value, empty for a number.
    pub choices: &'static [&'static str],
}

impl From<&ParameterInfo> for Scale {
    fn from(info: &ParameterInfo) -> Self {
        let ParameterInfo { unit, numerator, denominator, choices, .. } = *info;
        Self { unit, numerator, denominator, choices }
    }
}

impl From<&FieldInfo> for Scale {
    fn from(info: &FieldInfo) -> Self {
        let FieldInfo { unit, numerator, denominator, choices, .. } = *info;
        Self { unit, numerator, denominator, choices }
    }
}

impl Scale {
    /// The value in its unit.
    pub fn value(&self, raw: i64) -> f64 {
        raw as f64 * self.numerator as f64 / self.denominator as f64
    }

    /// Value and unit, or the name of a choice.
    pub fn shown(&self, raw: i64) -> String {
        match usize::try_from(raw).ok().and_then(|place| self.choices.get(place)) {
            Some(name) => (*name).to_owned(),
            None => format!("{} {}", short(self.value(raw)), self.unit).trim_end().to_owned(),
        }
    }
}

/// At most six digits behind the point, without trailing zeros.
fn short(value: f64) -> String {
    let text = format!("{value:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The raw value that a text means for a parameter; its unit must be said, and its range is held.
///
/// # Errors
/// What is wrong and what was expected.
pub fn read(text: &str, info: &ParameterInfo, rule: &Rule) -> Result<i32, String> {
    let scale = Scale::from(info);
    let text = text.trim();
    if !scale.choices.is_empty() {
        let place = scale.choices.iter().position(|name| *name == text);
        let raw = place.and_then(|place| i32::try_from(place).ok());
        let allowed = raw.filter(|raw| (rule.low..=rule.high).contains(raw));
        return allowed
            .ok_or_else(|| format!("expected one of {}, found `{text}`", scale.choices.join(", ")));
    }
    let example = || scale.shown(rule.default.into());
    let number = text.strip_suffix(scale.unit).map(str::trim_end);
    let value: f64 = number
        .and_then(|number| number.parse().ok())
        .filter(|value: &f64| value.is_finite())
        .ok_or_else(|| format!("expected a number with its unit, such as `{}`, found `{text}`", example()))?;
    let exact = value * scale.denominator as f64 / scale.numerator as f64;
    let raw = exact.round();
    if (exact - raw).abs() > 1e-6 {
        return Err(format!("{text} is between two steps; the nearest is {}", scale.shown(raw as i64)));
    }
    let (low, high) = (f64::from(rule.low), f64::from(rule.high));
    if raw < low || raw > high {
        let ends = (scale.shown(rule.low.into()), scale.shown(rule.high.into()));
        return Err(format!("{text} is outside {} to {}", ends.0, ends.1));
    }
    Ok(raw as i32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion::declare::{Access, ParameterSet};
    use trunnion::quantity::{Millis, Rpm};

    trunnion::parameters! {
        /// Three kinds.
        struct Set, enum SetIndex {
            /// A time.
            0x0101 rise: Millis = 1500, in 300..=10_000, Access::Tune;
            /// Eighths.
            0x0102 idle: Rpm = 8000, in 0..=24_000, Access::Tune;
            /// A choice.
            0x0103 fitted: bool = 0, in 0..=1, Access::Tune;
        }
    }

    fn row(place: usize) -> (&'static ParameterInfo, &'static Rule) {
        (&Set::INFO[place], &Set::RULES[place])
    }

    #[test]
    fn every_raw_value_of_a_row_reads_back_from_its_text() {
        for (info, rule) in Set::INFO.iter().zip(Set::RULES) {
            for raw in (rule.low..=rule.high).step_by(if rule.high > 100 { 7 } else { 1 }) {
                let text = Scale::from(info).shown(raw.into());
                assert_eq!(read(&text, info, rule), Ok(raw), "{text}");
            }
        }
    }

    #[test]
    fn a_text_without_its_unit_between_steps_or_out_of_range_is_told_what_was_expected() {
        for (place, text, part) in [
            (0, "1500", "such as `1500 ms`"),
            (0, "1.5 s", "such as `1500 ms`"),
            (0, "100 ms", "outside 300 ms to 10000 ms"),
            (0, "inf ms", "expected a number"),
            (1, "1000.05 rpm", "between two steps; the nearest is 1000 rpm"),
            (2, "maybe", "expected one of no, yes"),
        ] {
            let (info, rule) = row(place);
            let flaw = read(text, info, rule).unwrap_err();
            assert!(flaw.contains(part), "{text}: {flaw}");
        }
        assert_eq!(Scale::from(row(1).0).shown(8001), "1000.125 rpm");
    }
}
