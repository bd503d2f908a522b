//! The speed that was asked for, uphill and down.

mod config;
#[cfg(test)]
mod tests;

pub use config::{TravelSpeedConfig, TravelSpeedConfigError};

use super::speed_share::SpeedShare;
use crate::quantity::{Period, Ratio, Rpm, scale_symmetric, shift_nearest, shift_symmetric};
use crate::sense::Reading;

/// Closes the loop around the travel speed: feed-forward, proportional and integral share.
///
/// - The command is target / full_speed, plus `gain` times the error, plus the sum of errors over `integral_time`; together
///   held between zero and `allowed` in the direction of the target. It never drives against the target: to
///   brake against a slope is the work of [`Overspeed`](super::Overspeed) and the brakes.
/// - The sum is held where the command is at a limit, so that it does not wind up: when the limit goes, nothing
///   has to unwind first. It stays within `authority`.
/// - A target of zero gives exactly zero and forgets the sum; so does a target that turns.
/// - Without a valid speed the command is the feed-forward alone, and the sum is forgotten.
///
/// Ramps belong behind it, on the command, and before it on the target. The sum is kept 2⁻²⁰ finer than a
/// [`Ratio`] and everything rounds to nearest, ties away from zero; both directions are alike.
///
#[doc = include_str!("../../docs/propel-travel_speed.svg")]
///
/// ```
/// use trunnion::propel::{TravelSpeed, TravelSpeedConfig};
/// use trunnion::quantity::{Millis, Period, Permille, Ratio, Rpm};
/// use trunnion::sense::Reading;
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = TravelSpeedConfig {
///     full_speed: Rpm::from_whole(2_000),
///     gain: Permille::new(500).unwrap(),
///     integral_time: Millis::millis(2_000),
///     authority: Permille::new(300).unwrap(),
/// };
/// let mut speed = TravelSpeed::new(config, TICK).unwrap();
/// let target = Rpm::from_whole(1_000);
///
/// // Uphill the machine is 100 rpm too slow: 50 % and half of 5 %, and more from step to step.
/// let slow = Reading::Valid(Rpm::from_whole(900));
/// let first = speed.step(target, slow, Ratio::ONE);
/// assert_eq!(first.to_permille().raw(), 525);
/// assert!(speed.step(target, slow, Ratio::ONE) > first);
/// assert_eq!(speed.step(Rpm::ZERO, slow, Ratio::ONE), Ratio::ZERO);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct TravelSpeed {
    full_speed: SpeedShare,
    gain: Ratio,
    /// Share of the error that a step adds to the sum.
    integral: Ratio,
    /// Largest sum, in 2⁻⁵⁰.
    authority: i64,
    period: Period,
    /// Sum of the errors in the direction of the target, in 2⁻⁵⁰.
    sum: i64,
    /// Sign of the target for which the sum holds.
    direction: i64,
}

const FINER_BITS: u32 = 20;
const FULL: i64 = 1 << 50;

impl TravelSpeed {
    /// Nothing summed up. Refuses values outside their range.
    ///
    /// # Errors
    ///
    /// [`TravelSpeedConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: TravelSpeedConfig, period: Period) -> Result<Self, TravelSpeedConfigError> {
        if let Err(error) = config.check() {
            return Err(error);
        }
        let micros = (config.integral_time.ticks() as i64).wrapping_mul(1000);
        Ok(Self {
            full_speed: SpeedShare::of(config.full_speed),
            gain: Ratio::from_quotient(config.gain.raw() as i64, 1000),
            integral: Ratio::from_quotient(period.micros() as i64, micros),
            authority: scale_symmetric(config.authority.raw() as i64, FULL, 1000),
            period,
            sum: 0,
            direction: 0,
        })
    }

    /// Other values, from the next step on; the sum is kept within the new authority.
    ///
    /// # Errors
    ///
    /// [`TravelSpeedConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: TravelSpeedConfig) -> Result<(), TravelSpeedConfigError> {
        let new = Self::new(config, self.period)?;
        let sum = self.sum.min(new.authority).max(new.authority.saturating_neg());
        *self = Self { sum, direction: self.direction, ..new };
        Ok(())
    }

    /// Nothing summed up.
    pub fn reset(&mut self) {
        self.sum = 0;
        self.direction = 0;
    }

    /// One period: the command for a speed of `target`; `allowed` is the largest command at present, below zero
    /// counts as zero.
    pub fn step(&mut self, target: Rpm, actual: Reading<Rpm>, allowed: Ratio) -> Ratio {
        let direction = i64::from(target.raw().signum());
        if direction == 0 || direction != self.direction {
            self.reset();
            self.direction = direction;
        }
        let allowed = allowed.at_least(Ratio::ZERO);
        let command = match actual {
            Reading::Faulted(_) => {
                self.sum = 0;
                self.feed_forward(target).at_most(allowed)
            }
            Reading::Valid(actual) => self.closed(target, actual, allowed),
        };
        if direction < 0 {
            command.reversed()
        } else if direction > 0 {
            command
        } else {
            Ratio::ZERO
        }
    }

    /// The sum of errors in the direction of the target, as part of the command.
    pub const fn correction(&self) -> Ratio {
        Ratio::saturating(shift_nearest(self.sum, FINER_BITS))
    }

    const fn feed_forward(&self, target: Rpm) -> Ratio {
        self.full_speed.at(target.magnitude())
    }

    /// In the direction of the target.
    fn closed(&mut self, target: Rpm, actual: Rpm, allowed: Ratio) -> Ratio {
        let along = if target < Rpm::ZERO { Rpm::ZERO.minus(actual) } else { actual };
        let error = self.full_speed.at(target.magnitude().minus(along));
        // Of ratios, and of 2²⁰ times as many steps: 53 bits at most, nothing wraps.
        let direct = i64::from(self.feed_forward(target).to_bits())
            .wrapping_add(i64::from(error.times(self.gain).to_bits()));
        // The sum may go no further than to where the command meets its limit, and back as far as it likes.
        let step = shift_symmetric(i64::from(error.to_bits()), i64::from(self.integral.to_bits()), 10);
        let moved = self.sum.wrapping_add(step);
        let room_up = i64::from(allowed.to_bits()).wrapping_sub(direct).wrapping_shl(FINER_BITS);
        let room_down = direct.wrapping_neg().wrapping_shl(FINER_BITS);
        let held =
            if step > 0 { moved.min(room_up.max(self.sum)) } else { moved.max(room_down.min(self.sum)) };
        self.sum = held.min(self.authority).max(self.authority.wrapping_neg());
        Ratio::saturating(direct.wrapping_add(shift_nearest(self.sum, FINER_BITS)))
            .at_least(Ratio::ZERO)
            .at_most(allowed)
    }
}
