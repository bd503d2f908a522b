//! Whether a value that comes in frames is still alive.

use crate::quantity::{Millis, Period};

/// Times of a [`Freshness`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct FreshnessConfig {
    /// Longest time between two valid frames, 1 ms to 10 s.
    pub time_out: Millis,
    /// How long after start a value may be missing before it counts as never seen, 0 to 60 s.
    pub start_up: Millis,
}

/// Why a [`FreshnessConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FreshnessConfigError {
    /// `time_out` is outside its range.
    TimeOutOutOfRange {
        /// What was asked for.
        value: Millis,
        /// The least that is allowed.
        shortest: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
    /// `start_up` is too long.
    StartUpTooLong {
        /// What was asked for.
        value: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
}

impl core::fmt::Display for FreshnessConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TimeOutOutOfRange { value, shortest, longest } => {
                write!(formatter, "time_out is {value}; it must be {shortest} to {longest}")
            }
            Self::StartUpTooLong { value, longest } => {
                write!(formatter, "start_up is {value}; it must be at most {longest}")
            }
        }
    }
}

impl core::error::Error for FreshnessConfigError {}

crate::choices! {
    /// Whether a value that comes in frames is still alive.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum FreshnessState {
        /// None came yet, and the start-up window is still open.
        Waiting = "waiting",
        /// A valid frame came within the time-out.
        Fresh = "fresh",
        /// Valid frames came, the last one too long ago.
        Lost = "lost",
        /// The start-up window closed without a valid frame.
        NeverSeen = "never_seen",
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Limits {
    time_out_steps: u32,
    start_up_steps: u32,
}

impl Limits {
    const SHORTEST_TIME_OUT: Millis = Millis::from_ticks(1);
    const LONGEST_TIME_OUT: Millis = Millis::from_ticks(10_000);
    const LONGEST_START_UP: Millis = Millis::from_ticks(60_000);

    const fn resolve(config: FreshnessConfig, period: Period) -> Result<Self, FreshnessConfigError> {
        let FreshnessConfig { time_out, start_up } = config;
        if time_out.ticks() < Self::SHORTEST_TIME_OUT.ticks()
            || time_out.ticks() > Self::LONGEST_TIME_OUT.ticks()
        {
            return Err(FreshnessConfigError::TimeOutOutOfRange {
                value: time_out,
                shortest: Self::SHORTEST_TIME_OUT,
                longest: Self::LONGEST_TIME_OUT,
            });
        }
        if start_up.ticks() > Self::LONGEST_START_UP.ticks() {
            return Err(FreshnessConfigError::StartUpTooLong {
                value: start_up,
                longest: Self::LONGEST_START_UP,
            });
        }
        Ok(Self { time_out_steps: period.steps(time_out), start_up_steps: period.steps(start_up) })
    }
}

/// Watches the time between valid frames.
///
/// Time counts from the step that saw the last valid frame; the frame itself may have come up to one period
/// earlier. A step that is `time_out` later without another is the first to say lost; a frame in that very
/// step is in time. A valid frame makes it fresh from any state, the late first one too.
///
#[doc = include_str!("../../docs/sense-freshness.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::sense::{Freshness, FreshnessConfig, FreshnessState};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let config = FreshnessConfig { time_out: Millis::millis(60), start_up: Millis::millis(2_000) };
/// let mut lever = Freshness::new(config, tick).unwrap();
/// assert_eq!(lever.step(false), FreshnessState::Waiting);
/// assert_eq!(lever.step(true), FreshnessState::Fresh);
/// for _ in 0..5 {
///     assert_eq!(lever.step(false), FreshnessState::Fresh);
/// }
/// assert_eq!(lever.step(false), FreshnessState::Lost);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Freshness {
    limits: Limits,
    period: Period,
    seen: bool,
    /// Steps since the last valid frame, or since start when none was seen.
    waited: u32,
    state: FreshnessState,
}

impl Freshness {
    /// Refuses a time-out outside 1 ms to 10 s and a start-up window above 60 s.
    ///
    /// # Errors
    ///
    /// [`FreshnessConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: FreshnessConfig, period: Period) -> Result<Self, FreshnessConfigError> {
        match Limits::resolve(config, period) {
            Ok(limits) => Ok(Self { limits, period, seen: false, waited: 0, state: FreshnessState::Waiting }),
            Err(error) => Err(error),
        }
    }

    /// Takes new times as a whole or refuses them as a whole; what was seen and when is kept.
    ///
    /// # Errors
    ///
    /// [`FreshnessConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: FreshnessConfig) -> Result<(), FreshnessConfigError> {
        self.limits = Limits::resolve(config, self.period)?;
        Ok(())
    }

    /// As after start: the start-up window opens anew.
    pub fn reset(&mut self) {
        self.seen = false;
        self.waited = 0;
        self.state = FreshnessState::Waiting;
    }

    /// One step; `valid_frame` when at least one came since the last step.
    pub fn step(&mut self, valid_frame: bool) -> FreshnessState {
        if valid_frame {
            self.seen = true;
            self.waited = 0;
            self.state = FreshnessState::Fresh;
            return self.state;
        }
        self.waited = self.waited.saturating_add(1);
        self.state = match (self.seen, self.waited) {
            (true, waited) if waited >= self.limits.time_out_steps => FreshnessState::Lost,
            (true, _) => FreshnessState::Fresh,
            (false, waited) if waited > self.limits.start_up_steps => FreshnessState::NeverSeen,
            (false, _) => FreshnessState::Waiting,
        };
        self.state
    }

    /// What the last step said.
    pub const fn state(&self) -> FreshnessState {
        self.state
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn config(time_out: u32, start_up: u32) -> FreshnessConfig {
        FreshnessConfig { time_out: Millis::millis(time_out), start_up: Millis::millis(start_up) }
    }

    #[test]
    fn a_late_first_frame_ends_never_seen() {
        let mut freshness = Freshness::new(config(30, 20), TICK).unwrap();
        let states = [false; 4].map(|frame| freshness.step(frame));
        assert_eq!(
            states,
            [
                FreshnessState::Waiting,
                FreshnessState::Waiting,
                FreshnessState::NeverSeen,
                FreshnessState::NeverSeen
            ]
        );
        assert_eq!(freshness.step(true), FreshnessState::Fresh);
        freshness.reset();
        assert_eq!(freshness.step(false), FreshnessState::Waiting);
    }

    #[test]
    fn times_outside_their_range_are_refused_and_change_nothing() {
        let mut freshness = Freshness::new(config(300, 2_000), TICK).unwrap();
        for (config, message) in [
            (config(0, 2_000), "time_out is 0 ms; it must be 1 ms to 10000 ms"),
            (config(10_001, 2_000), "time_out is 10001 ms; it must be 1 ms to 10000 ms"),
            (config(300, 60_001), "start_up is 60001 ms; it must be at most 60000 ms"),
        ] {
            assert_eq!(freshness.reconfigure(config).unwrap_err().to_string(), message);
            assert_eq!((freshness.limits.time_out_steps, freshness.limits.start_up_steps), (30, 200));
        }
    }

    proptest! {
        #[test]
        fn the_state_follows_from_the_age_of_the_last_valid_frame(
            time_out in 1_u32..8, start_up in 0_u32..20, frames in proptest::collection::vec(prop::bool::weighted(0.2), 0..200)
        ) {
            let mut freshness = Freshness::new(config(time_out * 10, start_up * 10), TICK).unwrap();
            for step in 0..frames.len() {
                let age = frames[..=step].iter().rev().position(|frame| *frame);
                let expected = match age {
                    Some(age) if age < time_out as usize => FreshnessState::Fresh,
                    Some(_) => FreshnessState::Lost,
                    None if step < start_up as usize => FreshnessState::Waiting,
                    None => FreshnessState::NeverSeen,
                };
                prop_assert_eq!(freshness.step(frames[step]), expected);
                prop_assert_eq!(freshness.state(), expected);
            }
        }
    }

    four_verbs! {
        new: |config| Freshness::new(config, TICK),
        configs: (config(100, 300), config(160, 500)),
        accepted: [
            config(1, 0),
            config(10000, 60000),
        ],
        refused: [
            config(0, 0) => "time_out is 0 ms; it must be 1 ms to 10000 ms",
            config(10001, 0) => "time_out is 10001 ms; it must be 1 ms to 10000 ms",
            config(1, 60001) => "start_up is 60001 ms; it must be at most 60000 ms",
        ],
        inputs: prop::bool::weighted(0.3),
        step: |block, valid| (block.step(valid), block.state()),
        reset: |block| block.reset(),
    }
}
