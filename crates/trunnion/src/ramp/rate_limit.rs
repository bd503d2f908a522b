//! Limits how fast a command may change.

use core::fmt;

use super::fine;
use super::rates::{LONGEST_RAMP, SHORTEST_RAMP, ramp_time_is_allowed};
use crate::quantity::{Millis, Period, Ratio};

/// Times of a [`RateLimit`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RateLimitConfig {
    /// Time from zero to full scale, 10 ms to 120 s.
    pub rise: Millis,
    /// Time from full scale to zero, 10 ms to 120 s.
    pub fall: Millis,
}

/// Why a [`RateLimitConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RateLimitConfigError {
    /// The time to rise is outside 10 ms to 120 s.
    Rise(Millis),
    /// The time to fall is outside 10 ms to 120 s.
    Fall(Millis),
}

impl fmt::Display for RateLimitConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (name, given) = match self {
            Self::Rise(given) => ("rise", given),
            Self::Fall(given) => ("fall", given),
        };
        write!(formatter, "{name} time of {given} for full scale: set {SHORTEST_RAMP} to {LONGEST_RAMP}")
    }
}

impl core::error::Error for RateLimitConfigError {}

/// Limits how fast a command may change.
///
/// Moves at most one full scale per `rise` away from zero and per `fall` towards it; never passes the target,
/// and a change of sign takes one step at exactly zero. Remembers 2⁻⁴² of full scale, so a ramp of 120 s arrives
/// in 120 s at any period; gives it rounded to the nearest 2⁻³⁰, ties away from zero.
///
/// ```
/// use trunnion::quantity::{Millis, Period, Ratio};
/// use trunnion::ramp::{RateLimit, RateLimitConfig};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// const TIMES: RateLimitConfig = RateLimitConfig { rise: Millis::millis(500), fall: Millis::millis(200) };
/// let mut boom = RateLimit::new(TIMES, TICK).unwrap();
///
/// for _ in 0..25 {
///     boom.step(Ratio::ONE);
/// }
/// assert_eq!(boom.output().to_permille().raw(), 500); // half way after 250 ms
/// for _ in 0..10 {
///     boom.step(Ratio::ZERO);
/// }
/// assert_eq!(boom.output(), Ratio::ZERO); // twice as fast back
/// ```
#[derive(Debug, Clone, Copy)]
pub struct RateLimit {
    rise: i64,
    fall: i64,
    period: Period,
    position: i64,
}

impl RateLimit {
    /// At zero. Refuses a time outside 10 ms to 120 s.
    pub const fn new(config: RateLimitConfig, period: Period) -> Result<Self, RateLimitConfigError> {
        if !ramp_time_is_allowed(config.rise) {
            return Err(RateLimitConfigError::Rise(config.rise));
        }
        if !ramp_time_is_allowed(config.fall) {
            return Err(RateLimitConfigError::Fall(config.fall));
        }
        Ok(Self {
            rise: fine::rate(config.rise, period),
            fall: fine::rate(config.fall, period),
            period,
            position: 0,
        })
    }

    /// Other times, from the next step on; the output stays where it is.
    pub fn reconfigure(&mut self, config: RateLimitConfig) -> Result<(), RateLimitConfigError> {
        *self = Self { position: self.position, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// To zero at once: the only way past the limits.
    pub fn reset(&mut self) {
        self.position = 0;
    }

    /// One period of the way to `target`.
    pub fn step(&mut self, target: Ratio) -> Ratio {
        let goal = fine::from_ratio(target);
        let from = self.position;
        self.position = if (from > 0 && goal < 0) || (from < 0 && goal > 0) {
            fine::approach(from, 0, self.fall)
        } else if goal.unsigned_abs() > from.unsigned_abs() {
            fine::approach(from, goal, self.rise)
        } else {
            fine::approach(from, goal, self.fall)
        };
        self.output()
    }

    /// The limited command.
    pub const fn output(&self) -> Ratio {
        fine::to_ratio(self.position)
    }
}
