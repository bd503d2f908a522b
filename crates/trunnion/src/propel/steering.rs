//! How much of a turn a steer is.

use crate::quantity::{Permille, Ratio};

/// The shape of steering, common to all laws: sensitivity and the pivot band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Steering {
    linear: Ratio,
    cubic: Ratio,
    pivot_from: Ratio,
    pivot_to: Ratio,
}

const HALF: Ratio = Ratio::from_quotient(1, 2);

impl Steering {
    /// The caller has checked the ranges.
    pub const fn new(pivot_point: Permille, pivot_band: Permille, sensitivity: Permille) -> Self {
        let doubled_point = (pivot_point.raw() as i64).wrapping_mul(2);
        let band = pivot_band.raw() as i64;
        let linear = Ratio::from_quotient(sensitivity.raw() as i64, 1000);
        Self {
            linear,
            cubic: Ratio::ONE.minus(linear),
            pivot_from: Ratio::from_quotient(doubled_point.wrapping_sub(band), 2000),
            pivot_to: Ratio::from_quotient(doubled_point.wrapping_add(band), 2000),
        }
    }

    /// Steer after sensitivity: `k·s + (1 − k)·s³`, so full lever is full steer.
    pub const fn shaped(&self, steer: Ratio) -> Ratio {
        let cube = steer.times(steer).times(steer);
        steer.times(self.linear).plus(cube.times(self.cubic))
    }

    /// Share of rotation in the turn: 0 straight, ½ over the pivot band (the inner side stands), 1 spin.
    pub const fn yaw_share(&self, steer: Ratio) -> Ratio {
        let steer = steer.magnitude();
        if steer.to_bits() < self.pivot_from.to_bits() {
            HALF.times(steer.divided_by(self.pivot_from))
        } else {
            HALF.plus(HALF.times(self.beyond_pivot(steer)))
        }
    }

    /// How far beyond the pivot band: 0 up to its upper end, 1 at full steer.
    pub const fn beyond_pivot(&self, steer: Ratio) -> Ratio {
        let above = steer.magnitude().minus(self.pivot_to).at_least(Ratio::ZERO);
        above.divided_by(Ratio::ONE.minus(self.pivot_to))
    }
}
