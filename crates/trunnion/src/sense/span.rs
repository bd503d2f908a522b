//! From a share of a span to a quantity.

use crate::declare::Field;
use crate::quantity::{Ratio, scale_symmetric};

/// A straight line from a share, 0 to 1, to a quantity: what a sensor shows at both ends of its span.
///
/// The ends may descend (a thermistor). Rounds to nearest with ties away from zero, and meets both ends
/// exactly. Types of more than four bytes are refused by the compiler.
///
/// ```
/// use trunnion::quantity::{Kilopascals, Ratio};
/// use trunnion::sense::Span;
///
/// let charge_pressure = Span::new(Kilopascals::ZERO, Kilopascals::new(6_000).unwrap());
/// assert_eq!(charge_pressure.at(Ratio::from_permille(400).unwrap()).raw(), 2_400);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Span<Q> {
    low: Q,
    high: Q,
}

impl<Q: Field> Span<Q> {
    /// The quantity at share 0 and at share 1.
    pub const fn new(low: Q, high: Q) -> Self {
        const { assert!(Q::BYTES <= 4, "a span is computed in 64 bits: its ends have at most four bytes") };
        Self { low, high }
    }

    /// The quantity at `share`; a share below zero counts as zero.
    pub fn at(&self, share: Ratio) -> Q {
        let low = self.low.to_raw();
        let width = self.high.to_raw().saturating_sub(low);
        let bits = i64::from(share.at_least(Ratio::ZERO).to_bits());
        Q::held(low.saturating_add(scale_symmetric(width, bits, i64::from(Ratio::ONE_BITS))))
    }
}
