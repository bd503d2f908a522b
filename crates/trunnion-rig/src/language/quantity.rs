use std::fmt;

use super::unit::Factor;
use super::{Decimal, Span, Unit};

/// A number with its unit, as written: `0.5 s`, `80 %`, `3`.
#[derive(Debug, Clone)]
pub struct Quantity {
    /// The number, exactly as written.
    pub number: Decimal,
    /// The unit; the bare number when none was written.
    pub unit: Unit,
    /// Where it was written.
    pub span: Span,
}

impl PartialEq for Quantity {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number && self.unit == other.unit
    }
}

impl Eq for Quantity {}

impl Quantity {
    /// The value in `unit`, rounded once; `None` when the units measure different things. A bare zero is
    /// zero in every unit.
    pub fn value_in(&self, unit: &Unit) -> Option<f64> {
        let Factor { numerator, denominator } = self.factor_to(unit)?;
        Some(self.number.scaled(numerator, denominator))
    }

    /// What the number is multiplied by to be in `unit`; a bare zero fits every unit.
    pub(crate) fn factor_to(&self, unit: &Unit) -> Option<Factor> {
        if self.number.is_zero() && self.unit.is_number() {
            return Some(Factor::ONE);
        }
        self.unit.factor_to(unit)
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.number)?;
        if self.unit.symbol().is_empty() { Ok(()) } else { write!(f, " {}", self.unit.symbol()) }
    }
}
