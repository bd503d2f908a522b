use serde::Serialize;
use trunnion::declare::{FaultInfo, FieldInfo};

use crate::run::{ActionInfo, ObservationInfo};

/// Where a column of a trace comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ColumnKind {
    /// What the machine reads.
    Input,
    /// What its fast loop reads, at the last fast step of the tick.
    FastInput,
    /// What its fast loop drives, at the last fast step of the tick.
    FastOutput,
    /// What the machine drives.
    Output,
    /// An internal point of the machine.
    Diagnostic,
    /// Whether a fault is active.
    Fault,
    /// What is true of the simulated machine.
    Observation,
    /// What the scenario asks of the operator and the surroundings.
    Action,
}

/// What a column holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColumnInfo {
    /// Its name, unique in the trace.
    pub name: String,
    /// What it is.
    pub doc: String,
    /// Unit of its values; empty for a bare number or a choice.
    pub unit: String,
    /// Where it comes from.
    pub kind: ColumnKind,
    /// Names of the values from 0 on, `["no", "yes"]` for a yes/no column; empty for a number.
    pub choices: Vec<String>,
    /// Smallest value to be expected, in the unit; `None` when nobody says.
    pub low: Option<f64>,
    /// Largest value to be expected.
    pub high: Option<f64>,
    /// Connector and pin, or the place of a fault on the machine; empty for what is not wired.
    pub pin: String,
}

fn owned(choices: &[&str]) -> Vec<String> {
    choices.iter().map(|choice| (*choice).to_owned()).collect()
}

fn tidy(doc: &str) -> String {
    doc.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The value of a raw integer in its unit.
pub(crate) fn scaled(raw: i64, field: &FieldInfo) -> f64 {
    if field.bytes == 8 {
        return raw.cast_unsigned() as f64;
    }
    (raw.saturating_mul(field.numerator)) as f64 / field.denominator as f64
}

impl ColumnInfo {
    pub(crate) fn of_field(field: &FieldInfo, kind: ColumnKind) -> Self {
        let wide = field.bytes == 8;
        let bound = |raw: i64| (!wide).then(|| scaled(raw, field));
        Self {
            name: field.name.to_owned(),
            doc: tidy(field.doc),
            unit: field.unit.to_owned(),
            kind,
            choices: owned(field.choices),
            low: bound(field.low),
            high: bound(field.high),
            pin: field.pin.to_owned(),
        }
    }

    pub(crate) fn of_fault(fault: &FaultInfo) -> Self {
        Self {
            name: format!("fault_{}", snake_case(fault.name)),
            doc: tidy(fault.doc),
            unit: String::new(),
            kind: ColumnKind::Fault,
            choices: owned(&["no", "yes"]),
            low: Some(0.0),
            high: Some(1.0),
            pin: fault.location.to_owned(),
        }
    }

    pub(crate) fn of_observation(observation: &ObservationInfo) -> Self {
        Self {
            name: observation.name.to_owned(),
            doc: tidy(observation.doc),
            unit: observation.unit.to_owned(),
            kind: ColumnKind::Observation,
            choices: owned(observation.choices),
            low: None,
            high: None,
            pin: String::new(),
        }
    }

    pub(crate) fn of_action(action: &ActionInfo) -> Self {
        Self {
            name: format!("set_{}", action.name),
            doc: tidy(action.doc),
            unit: action.unit.to_owned(),
            kind: ColumnKind::Action,
            choices: owned(action.choices),
            low: Some(action.low),
            high: Some(action.high),
            pin: String::new(),
        }
    }
}

/// `LeftLeverLost` as `left_lever_lost`.
fn snake_case(name: &str) -> String {
    let mut snake = String::new();
    let letters: Vec<char> = name.chars().collect();
    for (place, letter) in letters.iter().enumerate() {
        let before = place.checked_sub(1).and_then(|before| letters.get(before));
        let after = letters.get(place + 1);
        let begins = before.is_some_and(|before| !before.is_uppercase())
            || (before.is_some() && after.is_some_and(|after| after.is_lowercase()));
        if letter.is_uppercase() && begins {
            snake.push('_');
        }
        snake.extend(letter.to_lowercase());
    }
    snake
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fault_names_become_column_names() {
        assert_eq!(snake_case("LeftLeverLost"), "left_lever_lost");
        assert_eq!(snake_case("CANBusOff"), "can_bus_off");
        assert_eq!(snake_case("Sensor5VLow"), "sensor5_v_low");
    }
}
