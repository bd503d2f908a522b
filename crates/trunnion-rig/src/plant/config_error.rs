//! What a component answers when its configuration cannot be a machine.

use thiserror::Error;

/// A configuration value that a component refused.
///
/// Field names carry their unit, so the message needs no other. Not-a-number is refused everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum PlantConfigError {
    /// The value lies outside the range in which the component's equations hold.
    #[error("{component}: {field} is {value}; choose a value from {low} to {high}")]
    OutOfRange {
        /// The component, as its module is named.
        component: &'static str,
        /// The field of its configuration.
        field: &'static str,
        /// The refused value.
        value: f64,
        /// Smallest value allowed.
        low: f64,
        /// Largest value allowed.
        high: f64,
    },
    /// Two values stand in the wrong order.
    #[error("{component}: {field} is {value}; it must be above {other}, which is {other_value}")]
    NotAbove {
        /// The component, as its module is named.
        component: &'static str,
        /// The field that must be larger.
        field: &'static str,
        /// Its value.
        value: f64,
        /// The field that must be smaller.
        other: &'static str,
        /// Its value.
        other_value: f64,
    },
    /// A table has too few or too many rows.
    #[error("{component}: {field} has {found} rows; give {low} to {high}")]
    Rows {
        /// The component, as its module is named.
        component: &'static str,
        /// The table.
        field: &'static str,
        /// Rows given.
        found: usize,
        /// Fewest rows allowed.
        low: usize,
        /// Most rows allowed.
        high: usize,
    },
}

/// Checks the fields of one component's configuration and puts its name into the refusals.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Check(pub(crate) &'static str);

impl Check {
    /// Refuses a value outside `low..=high`, and not-a-number.
    pub(crate) fn range(
        self,
        field: &'static str,
        value: f64,
        low: f64,
        high: f64,
    ) -> Result<(), PlantConfigError> {
        if value >= low && value <= high {
            Ok(())
        } else {
            Err(PlantConfigError::OutOfRange { component: self.0, field, value, low, high })
        }
    }

    /// Refuses a value that is not above another one.
    pub(crate) fn above(
        self,
        (field, value): (&'static str, f64),
        (other, other_value): (&'static str, f64),
    ) -> Result<(), PlantConfigError> {
        if value > other_value {
            Ok(())
        } else {
            Err(PlantConfigError::NotAbove { component: self.0, field, value, other, other_value })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_names_component_field_value_and_range() {
        let refusal = Check("engine").range("inertia_kg_m2", -1.0, 0.01, 100.0).unwrap_err();
        assert_eq!(refusal.to_string(), "engine: inertia_kg_m2 is -1; choose a value from 0.01 to 100");
        let refusal = Check("pump").above(("end_a", 0.5), ("threshold_a", 0.6)).unwrap_err();
        assert_eq!(refusal.to_string(), "pump: end_a is 0.5; it must be above threshold_a, which is 0.6");
    }

    #[test]
    fn not_a_number_is_refused_by_every_check() {
        assert!(Check("x").range("y", f64::NAN, f64::NEG_INFINITY, f64::INFINITY).is_err());
        assert!(Check("x").above(("y", f64::NAN), ("z", 0.0)).is_err());
        assert!(Check("x").above(("y", 0.0), ("z", f64::NAN)).is_err());
    }
}
