//! How much a speed is of another that stays.

use crate::quantity::{Divisor, Ratio, Rpm};

/// A speed above zero, of which shares are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(super) struct SpeedShare(Divisor);

impl SpeedShare {
    /// The caller has checked that it is above zero.
    pub const fn of(whole: Rpm) -> Self {
        Self(Divisor::of(whole.raw().unsigned_abs()))
    }

    /// `speed` as its share: bit for bit what [`Rpm::share_of`] gives.
    pub const fn at(&self, speed: Rpm) -> Ratio {
        let magnitude = Ratio::within_range(self.0.fraction(speed.raw().unsigned_abs()) as i32);
        if speed.raw() < 0 { magnitude.reversed() } else { magnitude }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn it_is_the_share_that_the_division_gives(speed in -524_288..=524_287, whole in 1..=524_287_i32, short in 0..20_u32) {
            let (speed, whole) = (Rpm::new(speed).unwrap(), Rpm::new((whole >> short).max(1)).unwrap());
            prop_assert_eq!(SpeedShare::of(whole).at(speed), speed.share_of(whole));
        }
    }
}
