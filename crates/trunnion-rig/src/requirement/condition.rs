use super::expression::Relation;
use super::measure::Measure;
use super::robustness::{Cause, Robustness};

/// A condition on one row, the leaf of a formula.
#[derive(Debug, Clone)]
pub(crate) struct Condition {
    pub(crate) test: Test,
    /// Unit of the margin; empty when the condition is only true or false.
    pub(crate) unit: String,
    /// The columns that it reads.
    pub(crate) columns: Vec<usize>,
}

/// What is asked of the row.
#[derive(Debug, Clone)]
pub(crate) enum Test {
    /// Known without looking.
    Truth(bool),
    /// Whether a column has this value, which must be `wanted`.
    Choice { column: usize, value: f64, wanted: bool },
    /// Whether two columns have the same value, which must be `wanted`.
    Same { columns: [usize; 2], wanted: bool },
    /// Whether a measure differs from its value a row ago, which must be `wanted`; never at the first row.
    Changes { of: Measure, memory: Option<f64>, wanted: bool },
    /// A comparison of two measures in one unit.
    Comparison { relation: Relation, left: Measure, right: Measure, tolerance: Measure },
}

/// Differences below this share of the larger side are rounding of the unit conversion, not a difference.
const ROUNDING: f64 = 1e-12;

impl Condition {
    pub(crate) fn new(test: Test, unit: &str) -> Self {
        let mut columns = Vec::new();
        match &test {
            Test::Truth(_) => {}
            Test::Choice { column, .. } => columns.push(*column),
            Test::Same { columns: pair, .. } => columns.extend(pair),
            Test::Changes { of, .. } => of.columns(&mut columns),
            Test::Comparison { left, right, tolerance, .. } => {
                [left, right, tolerance].into_iter().for_each(|side| side.columns(&mut columns));
            }
        }
        Self { test, unit: unit.to_owned(), columns }
    }

    /// Judges the next row.
    pub(crate) fn next(&mut self, row: &[f64], cause: Cause) -> Robustness {
        let at = |column: usize| row.get(column).copied().unwrap_or(f64::NAN);
        let verdict = match &mut self.test {
            Test::Truth(value) => return Robustness::certain(*value),
            Test::Choice { column, value, wanted } => Robustness::certain((at(*column) == *value) == *wanted),
            Test::Same { columns: [one, other], wanted } => {
                Robustness::certain((at(*one) == at(*other)) == *wanted)
            }
            Test::Changes { of, memory, wanted } => {
                let now = of.next(row);
                let before = memory.replace(now).unwrap_or(now);
                Robustness::certain((now != before) == *wanted)
            }
            Test::Comparison { relation, left, right, tolerance } => {
                let sides = (left.next(row), right.next(row), tolerance.next(row));
                compare(*relation, sides.0, sides.1, sides.2)
            }
        };
        Robustness { cause: Some(cause), ..verdict }
    }
}

/// The distance to the border of the relation; a side that is not finite satisfies nothing.
fn compare(relation: Relation, left: f64, right: f64, tolerance: f64) -> Robustness {
    let difference = left - right;
    if !difference.is_finite() || !tolerance.is_finite() {
        return Robustness::FALSE;
    }
    let scale = libm::fabs(left).max(libm::fabs(right)).max(libm::fabs(tolerance));
    let settled = |margin: f64| if libm::fabs(margin) <= scale * ROUNDING { 0.0 } else { margin };
    let (margin, closed) = match relation {
        Relation::Less => (settled(-difference), false),
        Relation::AtMost => (settled(-difference), true),
        Relation::Greater => (settled(difference), false),
        Relation::AtLeast => (settled(difference), true),
        Relation::Equal => (settled(tolerance - libm::fabs(difference)), true),
        Relation::Unequal => (settled(libm::fabs(difference) - tolerance), false),
    };
    Robustness { margin, holds: margin > 0.0 || (margin == 0.0 && closed), cause: None }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_border_belongs_to_the_closed_relations() {
        for (relation, holds) in [
            (Relation::Less, false),
            (Relation::AtMost, true),
            (Relation::Greater, false),
            (Relation::AtLeast, true),
            (Relation::Equal, true),
            (Relation::Unequal, false),
        ] {
            let verdict = compare(relation, 5.0, 5.0, 0.0);
            assert_eq!((verdict.margin, verdict.holds), (0.0, holds), "{relation:?}");
        }
    }

    #[test]
    fn rounding_of_the_last_digit_is_no_difference() {
        assert!(compare(Relation::Equal, 0.1 + 0.2, 0.3, 0.0).holds);
        assert!(compare(Relation::Equal, 45.1, 45.0, 0.1).holds);
        assert!(!compare(Relation::Equal, 45.101, 45.0, 0.1).holds);
    }

    #[test]
    fn what_is_not_a_number_satisfies_nothing() {
        for relation in Relation::ALL {
            assert!(!compare(relation, f64::NAN, 0.0, 0.0).holds);
            assert!(!compare(relation, f64::INFINITY, f64::INFINITY, 0.0).holds);
        }
    }

    proptest! {
        #[test]
        fn a_relation_and_its_opposite_are_equally_far_from_the_border(left in -1e6..1e6, right in -1e6..1e6, tolerance in 0.0..10.0) {
            for relation in Relation::ALL {
                let width = if matches!(relation, Relation::Equal | Relation::Unequal) { tolerance } else { 0.0 };
                let one = compare(relation, left, right, width);
                let other = compare(relation.opposite(), left, right, width);
                prop_assert_eq!(one.margin, -other.margin);
                prop_assert_eq!(one.holds, !other.holds);
            }
        }
    }
}
