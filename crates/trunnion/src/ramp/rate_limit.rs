//! Limits how fast a command may change.

use core::fmt;

use super::fine;
use super::rates::{LONGEST_RAMP, SHORTEST_RAMP, ramp_time_is_allowed};
use crate::quantity::{Millis, Period, Ratio};

/// Times of a [`RateLimit`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct RateLimitConfig {
    /// Time from zero to full scale, 10 ms to 120 s.
    pub rise: Millis,
    /// Time from full scale to zero, 10 ms to 120 s.
    pub fall: Millis,
}

/// Why a [`RateLimitConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
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
#[doc = include_str!("../../docs/ramp-rate_limit.svg")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct RateLimit {
    rise: i64,
    fall: i64,
    period: Period,
    /// Distance from zero, and the side.
    magnitude: i64,
    negative: bool,
}

impl RateLimit {
    /// At zero. Refuses a time outside 10 ms to 120 s.
    ///
    /// # Errors
    ///
    /// [`RateLimitConfigError`]: which rule the config breaks, with its value.
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
            magnitude: 0,
            negative: false,
        })
    }

    /// Other times, from the next step on; the output stays where it is.
    ///
    /// # Errors
    ///
    /// [`RateLimitConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: RateLimitConfig) -> Result<(), RateLimitConfigError> {
        *self =
            Self { magnitude: self.magnitude, negative: self.negative, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// To zero at once: the only way past the limits.
    pub fn reset(&mut self) {
        self.magnitude = 0;
    }

    /// One period of the way to `target`.
    pub fn step(&mut self, target: Ratio) -> Ratio {
        // Seen from the side of zero on which it is: one rule for both, and the same to both bit for bit.
        if self.magnitude == 0 {
            self.negative = target < Ratio::ZERO;
        }
        let target = if self.negative { target.reversed() } else { target };
        let goal = fine::magnitude_from_ratio(target);
        self.magnitude = fine::from_magnitude(self.magnitude, goal, self.rise, self.fall);
        self.output()
    }

    /// The limited command.
    pub const fn output(&self) -> Ratio {
        let magnitude = fine::magnitude_to_ratio(self.magnitude);
        if self.negative { magnitude.reversed() } else { magnitude }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn ratio() -> impl Strategy<Value = Ratio> {
        (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    fn limit(rise: u32, fall: u32) -> RateLimit {
        RateLimit::new(RateLimitConfig { rise: Millis::millis(rise), fall: Millis::millis(fall) }, TICK)
            .unwrap()
    }

    fn targets() -> impl Strategy<Value = Vec<(Ratio, usize)>> {
        proptest::collection::vec((ratio(), 1usize..60), 1..8)
    }

    proptest! {
        #[test]
        fn the_output_moves_towards_the_target_and_never_past_it(
            rise in 10u32..3_000, fall in 10u32..3_000, targets in targets()
        ) {
            let mut limit = limit(rise, fall);
            for (target, ticks) in targets {
                for _ in 0..ticks {
                    let (before, magnitude) = (limit.output(), limit.magnitude);
                    let after = limit.step(target);
                    let (low, high) = (before.at_most(target), before.at_least(target));
                    prop_assert!(after >= low && after <= high);
                    prop_assert!(limit.magnitude != magnitude || magnitude == fine::from_ratio(target).abs(), "stalled");
                }
            }
        }

        #[test]
        fn no_step_is_larger_than_the_time_allows(rise in 10u32..3_000, fall in 10u32..3_000, targets in targets()) {
            let mut limit = limit(rise, fall);
            let largest = |time: u32| (10.0 / f64::from(time)).min(1.0) * f64::from(Ratio::ONE_BITS) + 2.0;
            for (target, ticks) in targets {
                for _ in 0..ticks {
                    let before = limit.output().magnitude().to_bits();
                    let change = f64::from(limit.step(target).magnitude().to_bits() - before);
                    prop_assert!(change <= largest(rise) && -change <= largest(fall));
                }
            }
        }

        #[test]
        fn a_change_of_sign_takes_one_step_at_exactly_zero(fall in 10u32..3_000, from in ratio(), to in ratio()) {
            prop_assume!(!from.is_zero() && !to.is_zero());
            let to = to.directed_as(from.reversed());
            let mut limit = limit(10, fall);
            limit.step(from);
            let mut last = from;
            while !last.same_direction(to) {
                let next = limit.step(to);
                prop_assert!(!last.opposite_direction(next));
                last = next;
            }
        }

        #[test]
        fn both_directions_are_treated_alike(rise in 10u32..3_000, fall in 10u32..3_000, targets in targets()) {
            let (mut positive, mut negative) = (limit(rise, fall), limit(rise, fall));
            for (target, ticks) in targets {
                for _ in 0..ticks {
                    prop_assert_eq!(positive.step(target).reversed(), negative.step(target.reversed()));
                }
            }
        }

        #[test]
        fn full_scale_takes_the_time_and_at_most_one_tick_less(
            time in 10u32..=120_000, micros in prop_oneof![Just(1_000u32), Just(10_000), 500u32..20_000]
        ) {
            let period = Period::from_micros(micros).unwrap();
            let time = Millis::millis(time);
            let mut limit = RateLimit::new(RateLimitConfig { rise: time, fall: time }, period).unwrap();
            for target in [Ratio::ONE, Ratio::ZERO] {
                let mut ticks = 0;
                while limit.output() != target {
                    limit.step(target);
                    ticks += 1;
                }
                prop_assert!(ticks <= period.steps(time) && ticks + 1 >= period.steps(time), "{} ticks", ticks);
            }
        }
    }

    #[test]
    fn at_zero_with_nothing_asked_it_is_as_new_whichever_side_it_came_from() {
        let new = limit(10, 10);
        for full in [Ratio::ONE, Ratio::MINUS_ONE] {
            let mut limit = new;
            for target in [full, Ratio::ZERO, Ratio::ZERO] {
                limit.step(target);
            }
            assert_eq!(limit, new);
        }
    }

    #[test]
    fn the_slowest_ramp_at_a_millisecond_does_not_stall() {
        let time = Millis::millis(120_000);
        let config = RateLimitConfig { rise: time, fall: time };
        let mut limit = RateLimit::new(config, Period::from_micros(1_000).unwrap()).unwrap();
        let ticks = (1..=120_001).find(|_| limit.step(Ratio::ONE) == Ratio::ONE);
        assert!(ticks == Some(120_000) || ticks == Some(119_999), "{ticks:?}");
    }

    #[test]
    fn a_time_outside_the_range_is_refused_with_the_range_and_changes_nothing() {
        let mut limit = limit(100, 100);
        limit.step(Ratio::ONE);
        let before = limit.output();
        let bad = RateLimitConfig { rise: Millis::millis(100), fall: Millis::millis(120_001) };
        let error = limit.reconfigure(bad).unwrap_err();
        assert_eq!(error, RateLimitConfigError::Fall(Millis::millis(120_001)));
        assert_eq!(std::format!("{error}"), "fall time of 120001 ms for full scale: set 10 ms to 120000 ms");
        assert_eq!(limit.output(), before);
        limit.reset();
        assert_eq!(limit.output(), Ratio::ZERO);
    }

    four_verbs! {
        new: |config| RateLimit::new(config, TICK),
        configs: (RateLimitConfig { rise: Millis::millis(800), fall: Millis::millis(300) }, RateLimitConfig { rise: Millis::millis(400), fall: Millis::millis(900) }),
        accepted: [
            RateLimitConfig { rise: Millis::millis(10), fall: Millis::millis(10) },
            RateLimitConfig { rise: Millis::millis(120000), fall: Millis::millis(120000) },
        ],
        refused: [
            RateLimitConfig { rise: Millis::millis(9), fall: Millis::millis(10) } => "rise time of 9 ms for full scale: set 10 ms to 120000 ms",
            RateLimitConfig { rise: Millis::millis(120001), fall: Millis::millis(10) } => "rise time of 120001 ms for full scale: set 10 ms to 120000 ms",
            RateLimitConfig { rise: Millis::millis(10), fall: Millis::millis(9) } => "fall time of 9 ms for full scale: set 10 ms to 120000 ms",
            RateLimitConfig { rise: Millis::millis(10), fall: Millis::millis(120001) } => "fall time of 120001 ms for full scale: set 10 ms to 120000 ms",
        ],
        inputs: ratio(),
        step: |block, target| (block.step(target), block.output()),
        reset: |block| block.reset(),
    }
}
