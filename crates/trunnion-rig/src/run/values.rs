use trunnion::declare::{Access, ParameterInfo, Rule};

use super::plant::ActionInfo;
use crate::language::{Complaint, Quantity, Span, Unit};
use crate::requirement::{choice_word, show_number};
use crate::scenario::{Setting, Value};

/// The place of a choice that a scenario names.
fn place_of_choice(name: &str, choices: &[&str], value: &Value) -> Result<usize, Complaint> {
    let words: Vec<String> = choices.iter().map(|choice| choice_word(choice)).collect();
    match value {
        Value::Choice(word) => words.iter().position(|known| *known == word.value).ok_or_else(|| {
            let kind = format!("choice of `{name}` called");
            Complaint::unknown(word.span, &kind, &word.value, words.iter().map(String::as_str))
        }),
        Value::Quantity(quantity) => {
            Err(Complaint::new(quantity.span, format!("`{name}` is a choice, not a number"))
                .expected(format!("one of: {}", words.join(", "))))
        }
    }
}

/// The quantity that a scenario gives for a number.
fn quantity<'a>(name: &str, unit: &Unit, value: &'a Value) -> Result<&'a Quantity, Complaint> {
    let expected = match unit.symbol() {
        "" => "a bare number".to_owned(),
        symbol => format!("a value in {symbol}"),
    };
    let what = match value {
        Value::Choice(word) => format!("`{name}` is a number, and `{}` is none", word.value),
        Value::Quantity(quantity) if quantity.factor_to(unit).is_some() => return Ok(quantity),
        Value::Quantity(_) => format!("`{name}` is {}, which `{value}` is not", unit.described()),
    };
    Err(Complaint::new(value.span(), what).expected(expected))
}

fn with_unit(value: f64, unit: &str) -> String {
    let number = show_number(value);
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

fn outside(span: Span, name: &str, value: &Value, low: f64, high: f64, unit: &str, doc: &str) -> Complaint {
    let doc = doc.split_whitespace().collect::<Vec<_>>().join(" ");
    Complaint::new(span, format!("`{name} = {value}` is outside its range"))
        .expected(format!("{} to {}", with_unit(low, unit), with_unit(high, unit)))
        .help(format!("{name}: {doc}"))
}

/// The value of an action in its unit, or the place of its choice.
pub(super) fn action_value(info: &ActionInfo, setting: &Setting) -> Result<f64, Complaint> {
    let ActionInfo { name, doc, unit, low, high, choices, .. } = *info;
    if !choices.is_empty() {
        return place_of_choice(name, choices, &setting.value).map(|place| place as f64);
    }
    let declared = Unit::declared(unit);
    let value = quantity(name, &declared, &setting.value)?.value_in(&declared).unwrap_or(f64::NAN);
    if value >= low && value <= high {
        return Ok(value);
    }
    Err(outside(setting.value.span(), name, &setting.value, low, high, unit, doc))
}

/// The raw value of a parameter. Refuses what is outside the rule, what the maker has fixed, and what falls
/// between two steps of the parameter.
pub(super) fn parameter_raw(info: &ParameterInfo, rule: &Rule, setting: &Setting) -> Result<i32, Complaint> {
    let ParameterInfo { name, doc, unit, numerator, denominator, choices } = *info;
    let span = setting.value.span();
    let in_unit = |raw: i32| f64::from(raw) * numerator as f64 / denominator as f64;
    let raw = if choices.is_empty() {
        let declared = Unit::declared(unit);
        let quantity = quantity(name, &declared, &setting.value)?;
        let value = quantity.value_in(&declared).unwrap_or(f64::NAN);
        let raw = libm::round(value * denominator as f64 / numerator as f64);
        let span_of_range = (in_unit(rule.high) - in_unit(rule.low)).max(1.0);
        let off = libm::fabs(raw * numerator as f64 / denominator as f64 - value);
        if off > 1e-6 * span_of_range {
            let step = with_unit(numerator as f64 / denominator as f64, unit);
            return Err(Complaint::new(span, format!("`{name}` moves in steps of {step}")).expected(
                format!("{} is the nearest", with_unit(raw * numerator as f64 / denominator as f64, unit)),
            ));
        }
        raw
    } else {
        place_of_choice(name, choices, &setting.value)? as f64
    };
    let in_range = raw >= f64::from(rule.low) && raw <= f64::from(rule.high);
    if !in_range {
        let (low, high) = (in_unit(rule.low), in_unit(rule.high));
        return Err(outside(span, name, &setting.value, low, high, unit, doc));
    }
    if rule.access == Access::Constant && raw != f64::from(rule.default) {
        return Err(Complaint::new(span, format!("`{name}` is fixed by the maker"))
            .expected(with_unit(in_unit(rule.default), unit)));
    }
    Ok(raw as i32)
}
