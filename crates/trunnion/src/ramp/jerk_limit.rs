//! Limits how fast a command may change, and how fast that may change.

use core::fmt;

use super::fine;
use super::rates::{LONGEST_RAMP, SHORTEST_RAMP, ramp_time_is_allowed};
use crate::quantity::{Millis, Period, Ratio};

/// Times of a [`JerkLimit`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct JerkLimitConfig {
    /// Time for full scale at the full rate, 10 ms to 120 s.
    pub full_scale: Millis,
    /// Time in which the rate builds up from nothing, and goes back to it, 10 ms to 10 s.
    pub build_up: Millis,
}

/// Why a [`JerkLimitConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum JerkLimitConfigError {
    /// The time for full scale is outside 10 ms to 120 s.
    FullScale(Millis),
    /// The time to build up the rate is outside 10 ms to 10 s.
    BuildUp(Millis),
}

impl fmt::Display for JerkLimitConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FullScale(given) => {
                write!(formatter, "time of {given} for full scale: set {SHORTEST_RAMP} to {LONGEST_RAMP}")
            }
            Self::BuildUp(given) => write!(
                formatter,
                "build-up of the rate in {given}: set {SHORTEST_RAMP} to {}",
                JerkLimit::LONGEST_BUILD_UP
            ),
        }
    }
}

impl core::error::Error for JerkLimitConfigError {}

/// Moves a command without a jolt at the start and at the end, and never past its target.
///
/// The rate is at most one full scale per `full_scale`, and changes by at most the full rate per `build_up`. Each step
/// takes the largest rate from which the rest of the way suffices to come to rest at the target. A way that
/// reaches the full rate lasts its time at that rate plus `build_up`, one tick more or less.
///
/// The target comes before the smoothness: when it moves nearer than the way to come to rest, the rate drops at
/// once to one that still does; when it moves behind the output, the output turns in one step. So nothing is driven
/// on after the lever was released. Both directions are treated alike; a change of sign passes zero without rest,
/// which a pair of coils adds where it needs it. Remembers 2⁻⁴² of full scale and gives it rounded to the nearest 2⁻³⁰, ties away from zero.
///
#[doc = include_str!("../../docs/ramp-jerk_limit.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period, Ratio};
/// use trunnion::ramp::{JerkLimit, JerkLimitConfig};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = JerkLimitConfig { full_scale: Millis::millis(800), build_up: Millis::millis(200) };
/// let mut swing = JerkLimit::new(config, TICK).unwrap();
///
/// for _ in 0..10 {
///     swing.step(Ratio::ONE);
/// }
/// assert!(swing.output().to_permille().raw() < 40); // it has only begun: 125 ‰ with a plain ramp
/// for _ in 10..102 {
///     swing.step(Ratio::ONE);
/// }
/// assert_eq!(swing.output(), Ratio::ONE); // after 800 + 200 ms, and not beyond it
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct JerkLimit {
    /// Largest change of the position in a step.
    full_rate: i64,
    /// Largest change of the rate in a step.
    jerk: i64,
    period: Period,
    position: i64,
    /// Change of the position in the last step.
    rate: i64,
}

impl JerkLimit {
    /// Longest time to build up the rate.
    pub const LONGEST_BUILD_UP: Millis = Millis::millis(10_000);

    /// At rest at zero. Refuses times outside their range.
    ///
    /// # Errors
    ///
    /// [`JerkLimitConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: JerkLimitConfig, period: Period) -> Result<Self, JerkLimitConfigError> {
        let JerkLimitConfig { full_scale, build_up } = config;
        if !ramp_time_is_allowed(full_scale) {
            return Err(JerkLimitConfigError::FullScale(full_scale));
        }
        if build_up.ticks() < SHORTEST_RAMP.ticks() || build_up.ticks() > Self::LONGEST_BUILD_UP.ticks() {
            return Err(JerkLimitConfigError::BuildUp(build_up));
        }
        let full_rate = fine::rate(full_scale, period);
        // Rounded up, so that the full rate is reached in time; at most 10⁵ steps, so never zero.
        let steps = period.steps(build_up) as i64;
        let jerk = match full_rate.saturating_add(steps.saturating_sub(1)).checked_div(steps) {
            Some(jerk) => jerk,
            None => full_rate,
        };
        Ok(Self { full_rate, jerk, period, position: 0, rate: 0 })
    }

    /// Other times, from the next step on; output and rate stay, a rate that is now too high falls by the new jerk.
    ///
    /// # Errors
    ///
    /// [`JerkLimitConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: JerkLimitConfig) -> Result<(), JerkLimitConfigError> {
        *self = Self { position: self.position, rate: self.rate, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// At rest at zero at once: the only way past the limits.
    pub fn reset(&mut self) {
        self.position = 0;
        self.rate = 0;
    }

    /// One period of the way to `target`.
    pub fn step(&mut self, target: Ratio) -> Ratio {
        let way = fine::from_ratio(target).saturating_sub(self.position);
        let towards = if way < 0 { self.rate.saturating_neg() } else { self.rate };
        let rate = self.rate_for(towards.max(0), way.saturating_abs());
        self.rate = if way < 0 { rate.saturating_neg() } else { rate };
        self.position = self.position.saturating_add(self.rate);
        self.output()
    }

    /// The limited command.
    pub const fn output(&self) -> Ratio {
        fine::to_ratio(self.position)
    }

    /// The next rate towards the target, zero or more.
    fn rate_for(&self, present: i64, distance: i64) -> i64 {
        let slower = present.saturating_sub(self.jerk);
        let allowed = present.saturating_add(self.jerk).min(self.full_rate.max(slower));
        allowed.min(self.rate_that_stops_in(distance)).max(0)
    }

    /// The largest rate that comes to rest within `distance`.
    ///
    /// Coming to rest from a rate v by j a step takes v + (v − j) + (v − 2j) + …, the largest over n of n·v − j·n·(n−1)/2.
    /// So v is the smallest over n of (distance + j·n·(n−1)/2) / n, and the n that gives it has
    /// j·n·(n−1)/2 ≤ distance < j·n·(n+1)/2.
    fn rate_that_stops_in(&self, distance: i64) -> i64 {
        let eightfold = distance.saturating_mul(8).checked_div(self.jerk).unwrap_or(0);
        let root = root_of(eightfold.unsigned_abs().saturating_add(1)).cast_signed();
        let steps = (root.saturating_add(1) / 2).max(1);
        let triangle = steps.saturating_mul(steps.saturating_sub(1)) / 2;
        let sum = distance.saturating_add(self.jerk.saturating_mul(triangle));
        sum.checked_div(steps).unwrap_or(0)
    }
}

/// The square root, rounded down, digit by digit. That of `core` checks its sums when `core` is built with checks, so a
/// panic would be reachable from here as far as a linker can tell.
const fn root_of(value: u64) -> u64 {
    let highest = 63_u32.saturating_sub(value.leading_zeros()) & !1;
    let (mut rest, mut root, mut place) = (value, 0_u64, 1_u64.wrapping_shl(highest));
    while place != 0 {
        let sum = root.wrapping_add(place);
        root = root.wrapping_shr(1);
        if rest >= sum {
            rest = rest.wrapping_sub(sum);
            root = root.wrapping_add(place);
        }
        place = place.wrapping_shr(2);
    }
    root
}

#[cfg(test)]
mod tests;
