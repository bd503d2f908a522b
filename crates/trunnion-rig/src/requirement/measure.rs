use super::expression::{Arithmetic, Function};

/// A number computed from a row: units settled, names looked up.
#[derive(Debug, Clone)]
pub(crate) enum Measure {
    Constant(f64),
    Signal(usize),
    Negative(Box<Measure>),
    Arithmetic(Arithmetic, Box<Measure>, Box<Measure>),
    Abs(Box<Measure>),
    Extreme { least: bool, operands: Vec<Measure> },
    Scaled(f64, Box<Measure>),
    Previous { of: Box<Measure>, memory: Option<f64> },
    Rate { of: Box<Measure>, per_second: f64, memory: Option<f64> },
}

impl Measure {
    /// A function of numbers; `ticks_per_second` turns a change into a rate.
    pub(crate) fn call(function: Function, mut operands: Vec<Measure>, ticks_per_second: f64) -> Self {
        let first = if operands.is_empty() { Measure::Constant(0.0) } else { operands.remove(0) };
        match function {
            Function::Abs => Self::Abs(Box::new(first)),
            Function::Previous => Self::Previous { of: Box::new(first), memory: None },
            Function::Rate => Self::Rate { of: Box::new(first), per_second: ticks_per_second, memory: None },
            Function::Min | Function::Max => {
                operands.insert(0, first);
                Self::Extreme { least: function == Function::Min, operands }
            }
        }
    }

    /// The value at the next row; to be called once a row, because some measures remember the row before.
    pub(crate) fn next(&mut self, row: &[f64]) -> f64 {
        match self {
            Self::Constant(value) => *value,
            Self::Signal(column) => row.get(*column).copied().unwrap_or(f64::NAN),
            Self::Negative(of) => -of.next(row),
            Self::Arithmetic(sign, left, right) => {
                let (left, right) = (left.next(row), right.next(row));
                match sign {
                    Arithmetic::Plus => left + right,
                    Arithmetic::Minus => left - right,
                    Arithmetic::Times => left * right,
                }
            }
            Self::Abs(of) => libm::fabs(of.next(row)),
            Self::Extreme { least, operands } => {
                let values = operands.iter_mut().map(|operand| operand.next(row));
                // Unlike f64::min, a NaN is not passed over.
                values
                    .reduce(|a, b| if a.is_nan() || (a < b) == *least && !b.is_nan() { a } else { b })
                    .unwrap_or(f64::NAN)
            }
            Self::Scaled(factor, of) => of.next(row) * *factor,
            Self::Previous { of, memory } => {
                let now = of.next(row);
                memory.replace(now).unwrap_or(now)
            }
            Self::Rate { of, per_second, memory } => {
                let now = of.next(row);
                (now - memory.replace(now).unwrap_or(now)) * *per_second
            }
        }
    }

    /// The columns that it reads, in the order of reading.
    pub(crate) fn columns(&self, found: &mut Vec<usize>) {
        match self {
            Self::Constant(_) => {}
            Self::Signal(column) => {
                if !found.contains(column) {
                    found.push(*column);
                }
            }
            Self::Negative(of) | Self::Abs(of) | Self::Scaled(_, of) => of.columns(found),
            Self::Previous { of, .. } | Self::Rate { of, .. } => of.columns(found),
            Self::Arithmetic(_, left, right) => {
                left.columns(found);
                right.columns(found);
            }
            Self::Extreme { operands, .. } => operands.iter().for_each(|operand| operand.columns(found)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn extreme(least: bool, values: &[f64]) -> f64 {
        let operands = values.iter().map(|value| Measure::Constant(*value)).collect();
        Measure::Extreme { least, operands }.next(&[])
    }

    #[test]
    fn the_extreme_of_numbers_does_not_pass_over_a_nan() {
        assert_eq!(extreme(true, &[3.0, -1.0, 2.0]), -1.0);
        assert_eq!(extreme(false, &[3.0, 5.0, 5.0]), 5.0);
        assert_eq!(extreme(false, &[3.0, 3.0, 1.0]), 3.0);
        for values in [[f64::NAN, 1.0], [1.0, f64::NAN]] {
            assert!(extreme(true, &values).is_nan());
            assert!(extreme(false, &values).is_nan());
        }
    }

    #[test]
    fn the_first_row_has_no_change() {
        let mut rate = Measure::call(Function::Rate, vec![Measure::Signal(0)], 100.0);
        assert_eq!([1.0, 1.5, 1.0].map(|value| rate.next(&[value])), [0.0, 50.0, -50.0]);
        let mut previous = Measure::call(Function::Previous, vec![Measure::Signal(0)], 100.0);
        assert_eq!([1.0, 1.5, 1.0].map(|value| previous.next(&[value])), [1.0, 1.0, 1.5]);
    }
}
