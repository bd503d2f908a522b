//! How much of a turn a steer is.

use crate::quantity::{Divisor, Permille, Ratio, part, parts};

/// The shape of steering, common to all laws: sensitivity and the pivot band. All in steps of 2⁻³⁰, without sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(super) struct Steering {
    linear: u32,
    cubic: u32,
    pivot_from: Divisor,
    pivot_to: u32,
    /// From the pivot band to full steer.
    outer: Divisor,
}

const ONE: u32 = Ratio::ONE_BITS.unsigned_abs();

impl Steering {
    /// The caller has checked the ranges.
    pub const fn new(pivot_point: Permille, pivot_band: Permille, sensitivity: Permille) -> Self {
        let doubled_point = (pivot_point.raw() as i64).wrapping_mul(2);
        let band = pivot_band.raw() as i64;
        let linear = steps(sensitivity.raw() as i64, 1000);
        let pivot_to = steps(doubled_point.wrapping_add(band), 2000);
        Self {
            linear,
            cubic: ONE.saturating_sub(linear),
            pivot_from: Divisor::of(steps(doubled_point.wrapping_sub(band), 2000)),
            pivot_to,
            outer: Divisor::of(ONE.saturating_sub(pivot_to)),
        }
    }

    /// Steer after sensitivity: `k·s + (1 − k)·s³`, so full lever is full steer and none is more.
    pub const fn shaped(&self, steer: u32) -> u32 {
        let cube = part(part(steer, steer), steer);
        parts((steer, self.linear), (cube, self.cubic))
    }

    /// Share of rotation in the turn: 0 straight, ½ over the pivot band (the inner side stands), 1 spin.
    pub const fn yaw_share(&self, steer: u32) -> u32 {
        if steer < self.pivot_from.whole() {
            half(self.pivot_from.fraction(steer))
        } else {
            half(ONE).wrapping_add(half(self.beyond_pivot(steer)))
        }
    }

    /// How far beyond the pivot band: 0 up to its upper end, 1 at full steer.
    pub const fn beyond_pivot(&self, steer: u32) -> u32 {
        self.outer.fraction(steer.saturating_sub(self.pivot_to))
    }
}

/// Half of it, rounded to nearest with ties up.
const fn half(value: u32) -> u32 {
    value.wrapping_add(1).wrapping_shr(1)
}

const fn steps(numerator: i64, denominator: i64) -> u32 {
    Ratio::from_quotient(numerator, denominator).to_bits().unsigned_abs()
}
