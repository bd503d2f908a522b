//! Ramp times and what they are per period.

use core::fmt;

use super::fine;
use crate::quantity::{Millis, Period};

/// Shortest time that a ramp may take for full scale.
pub const SHORTEST_RAMP: Millis = Millis::millis(10);
/// Longest time that a ramp may take for full scale.
pub const LONGEST_RAMP: Millis = Millis::millis(120_000);
/// Longest rest at zero before the motion turns round.
pub const LONGEST_DWELL: Millis = Millis::millis(5_000);

/// How long full scale takes, by what the motion is doing. Each 10 ms to 120 s.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct MotionRates {
    /// From zero to full scale.
    pub accelerate: Millis,
    /// From full scale to zero when less, or nothing, is asked.
    pub decelerate: Millis,
    /// From full scale to zero when the opposite is asked.
    pub reverse: Millis,
}

/// Why [`MotionRates`] were refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MotionRatesError {
    /// The time to accelerate is outside 10 ms to 120 s.
    Accelerate(Millis),
    /// The time to decelerate is outside 10 ms to 120 s.
    Decelerate(Millis),
    /// The time to reverse is outside 10 ms to 120 s.
    Reverse(Millis),
}

impl fmt::Display for MotionRatesError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (name, given) = match self {
            Self::Accelerate(given) => ("acceleration", given),
            Self::Decelerate(given) => ("deceleration", given),
            Self::Reverse(given) => ("reversal", given),
        };
        write!(formatter, "{name} time of {given} for full scale: set {SHORTEST_RAMP} to {LONGEST_RAMP}")
    }
}

impl core::error::Error for MotionRatesError {}

pub(crate) const fn ramp_time_is_allowed(time: Millis) -> bool {
    time.ticks() >= SHORTEST_RAMP.ticks() && time.ticks() <= LONGEST_RAMP.ticks()
}

pub(crate) const fn dwell_is_allowed(time: Millis) -> bool {
    time.ticks() <= LONGEST_DWELL.ticks()
}

/// [`MotionRates`] resolved to one period, on the scale of [`fine`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct Rates {
    pub accelerate: i64,
    pub decelerate: i64,
    pub reverse: i64,
}

impl Rates {
    pub const fn resolve(rates: MotionRates, period: Period) -> Result<Self, MotionRatesError> {
        if !ramp_time_is_allowed(rates.accelerate) {
            return Err(MotionRatesError::Accelerate(rates.accelerate));
        }
        if !ramp_time_is_allowed(rates.decelerate) {
            return Err(MotionRatesError::Decelerate(rates.decelerate));
        }
        if !ramp_time_is_allowed(rates.reverse) {
            return Err(MotionRatesError::Reverse(rates.reverse));
        }
        Ok(Self {
            accelerate: fine::rate(rates.accelerate, period),
            decelerate: fine::rate(rates.decelerate, period),
            reverse: fine::rate(rates.reverse, period),
        })
    }

    /// One period of the way from `from` to `goal`; a change of sign stops at zero first.
    pub const fn approach(&self, from: i64, goal: i64) -> i64 {
        if fine::opposed(from, goal) {
            fine::approach(from, 0, self.reverse)
        } else {
            fine::approach(from, goal, self.towards(from, goal))
        }
    }

    /// The rate that applies on the way from `from` to `goal`.
    pub const fn towards(&self, from: i64, goal: i64) -> i64 {
        if fine::opposed(from, goal) {
            self.reverse
        } else if goal.unsigned_abs() > from.unsigned_abs() {
            self.accelerate
        } else {
            self.decelerate
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const RATES: Rates = Rates { accelerate: 5, decelerate: 7, reverse: 11 };

    proptest! {
        #[test]
        fn the_rate_follows_from_where_it_is_and_where_it_goes(from in -100_i64..100, goal in -100_i64..100) {
            let expected = match (from * goal < 0, goal.abs() > from.abs()) {
                (true, _) => RATES.reverse,
                (false, true) => RATES.accelerate,
                (false, false) => RATES.decelerate,
            };
            prop_assert_eq!(RATES.towards(from, goal), expected);
        }

        #[test]
        fn a_step_goes_by_its_rate_at_most_and_never_past_zero_or_the_goal(from in -100_i64..100, goal in -100_i64..100) {
            let next = RATES.approach(from, goal);
            let turning = from * goal < 0;
            let towards = if turning { 0 } else { goal };
            let rate = RATES.towards(from, goal);
            prop_assert_eq!((next - from).abs(), rate.min((towards - from).abs()));
            prop_assert!((next - from) * (towards - from) >= 0);
        }
    }
}
