use trunnion::quantity::Period;

/// A signal that formulas may speak of: one number a tick.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signal {
    /// Its name.
    pub name: String,
    /// Unit of its value; empty for a bare number or a choice.
    pub unit: String,
    /// Names of its choices by value; `["no", "yes"]` makes it a yes/no signal, empty a number.
    pub choices: Vec<String>,
}

/// A number that does not change during a run: a parameter.
#[derive(Debug, Clone, PartialEq)]
pub struct Constant {
    /// Its name, unit and choices.
    pub signal: Signal,
    /// Its value in its unit, or the place of its choice.
    pub value: f64,
}

/// All that the names in a formula can mean, and how long a tick is.
///
/// A signal hides a constant of the same name.
#[derive(Debug, Clone, PartialEq)]
pub struct Vocabulary {
    /// The signals, in the order of a row.
    pub signals: Vec<Signal>,
    /// The constants.
    pub constants: Vec<Constant>,
    /// Time between two rows.
    pub period: Period,
}

impl Signal {
    /// A number with a unit.
    pub fn number(name: impl Into<String>, unit: impl Into<String>) -> Self {
        Self { name: name.into(), unit: unit.into(), choices: Vec::new() }
    }

    /// A yes/no signal.
    pub fn switch(name: impl Into<String>) -> Self {
        Self::choice(name, &["no", "yes"])
    }

    /// A signal that takes one of several named values.
    pub fn choice(name: impl Into<String>, choices: &[&str]) -> Self {
        let choices = choices.iter().map(|choice| (*choice).to_owned()).collect();
        Self { name: name.into(), unit: String::new(), choices }
    }

    /// True for a yes/no signal.
    pub fn is_switch(&self) -> bool {
        self.choices == ["no", "yes"]
    }

    /// The value as a reader wants it: the choice's name, or the number with its unit.
    pub fn show(&self, value: f64) -> String {
        if !self.choices.is_empty() {
            let choice = self.choices.get(value.max(0.0) as usize);
            return choice.cloned().unwrap_or_else(|| format!("{value} (no choice of its own)"));
        }
        let number = show_number(value);
        if self.unit.is_empty() { number } else { format!("{number} {}", self.unit) }
    }
}

/// A number for a reader: six significant digits, at most six places, no trailing zeros.
pub(crate) fn show_number(value: f64) -> String {
    if !value.is_finite() {
        return if value.is_nan() { "not a number".to_owned() } else { format!("{value}") };
    }
    let magnitude = if value == 0.0 { 0 } else { libm::floor(libm::log10(libm::fabs(value))) as i32 };
    let places = usize::try_from(5 - magnitude.clamp(-1, 5)).unwrap_or(0);
    let text = format!("{value:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// How a choice is written in formulas and scenarios: everything that is not a letter or digit becomes `_`.
pub(crate) fn choice_word(choice: &str) -> String {
    choice.chars().map(|c| if c.is_alphanumeric() { c } else { '_' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_shown_with_unit_or_choice() {
        let current = Signal::number("drive_current", "mA");
        assert_eq!(current.show(45.0), "45 mA");
        assert_eq!(current.show(0.1 + 0.2), "0.3 mA");
        assert_eq!(current.show(-0.000_000_01), "0 mA");
        assert_eq!(current.show(1_234_567.0), "1234567 mA");
        let state = Signal::choice("motion_state", &["rest", "spin"]);
        assert_eq!(state.show(1.0), "spin");
        assert_eq!(state.show(7.0), "7 (no choice of its own)");
    }

    #[test]
    fn choices_of_several_words_are_written_as_one() {
        assert_eq!(choice_word("power up"), "power_up");
    }
}
