//! How the frames of one message come in.

use trunnion::quantity::{Millis, Period};
use trunnion::sense::{Freshness, FreshnessConfig, FreshnessState};

trunnion::choices! {
    /// What is wrong with the frames of a message.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum FrameFlaw {
        /// No valid frame yet, and the start-up window is still open.
        Waiting = "waiting",
        /// Nothing: the latest frame is valid and fresh.
        None = "none",
        /// The start-up window closed, and no frame came.
        NeverSeen = "never_seen",
        /// Valid frames came, then nothing for the time-out.
        Lost = "lost",
        /// A used field of the latest frame says "error".
        ErrorValue = "error_value",
        /// A used field of the latest frame says "not available".
        NotAvailable = "not_available",
        /// A used field of the latest frame holds what the standard keeps free.
        Reserved = "reserved",
        /// Flags of the latest frame contradict each other or the position.
        Inconsistent = "inconsistent",
        /// More frames come than one sender sends: a second unit has the same address.
        Duplicated = "duplicated",
    }
}

/// Why the timing of a message was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MessageTimingError {
    /// `period` is outside its range.
    PeriodOutOfRange {
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
    /// `most_frames` is outside its range.
    MostFramesOutOfRange {
        /// What was asked for.
        value: u8,
        /// The least that is allowed.
        least: u8,
        /// The most that is allowed.
        most: u8,
    },
}

impl core::fmt::Display for MessageTimingError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::PeriodOutOfRange { value, shortest, longest } => {
                write!(formatter, "period is {value}; it must be {shortest} to {longest}")
            }
            Self::StartUpTooLong { value, longest } => {
                write!(formatter, "start_up is {value}; it must be at most {longest}")
            }
            Self::MostFramesOutOfRange { value, least, most } => {
                write!(formatter, "most_frames is {value}; it must be {least} to {most}")
            }
        }
    }
}

impl core::error::Error for MessageTimingError {}

/// How often a message is sent, as a lever's or an engine's config gives it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Timing {
    pub(crate) period: Millis,
    pub(crate) start_up: Millis,
    pub(crate) most_frames: u8,
}

#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Limits {
    /// What one frame is worth.
    frame_micros: u32,
    /// Worth of frames ahead of the declared rate from which there must be a second sender.
    surplus_micros: u32,
    /// Worth that is used up in one step.
    drain_micros: u32,
}

const SHORTEST_PERIOD: Millis = Millis::from_ticks(10);
const LONGEST_PERIOD: Millis = Millis::from_ticks(150);
const LONGEST_START_UP: Millis = Millis::from_ticks(60_000);
const LONGEST_TIME_OUT: u32 = 300;
const LEAST_MOST_FRAMES: u8 = 2;
const MOST_MOST_FRAMES: u8 = 10;

impl Timing {
    const fn resolve(self, period: Period) -> Result<(Limits, FreshnessConfig), MessageTimingError> {
        use MessageTimingError::*;
        let Self { period: interval, start_up, most_frames } = self;
        if interval.ticks() < SHORTEST_PERIOD.ticks() || interval.ticks() > LONGEST_PERIOD.ticks() {
            return Err(PeriodOutOfRange {
                value: interval,
                shortest: SHORTEST_PERIOD,
                longest: LONGEST_PERIOD,
            });
        }
        if start_up.ticks() > LONGEST_START_UP.ticks() {
            return Err(StartUpTooLong { value: start_up, longest: LONGEST_START_UP });
        }
        if most_frames < LEAST_MOST_FRAMES || most_frames > MOST_MOST_FRAMES {
            return Err(MostFramesOutOfRange {
                value: most_frames,
                least: LEAST_MOST_FRAMES,
                most: MOST_MOST_FRAMES,
            });
        }
        let three_periods = interval.ticks().saturating_mul(3);
        let time_out = if three_periods > LONGEST_TIME_OUT { LONGEST_TIME_OUT } else { three_periods };
        let frame_micros = interval.ticks().saturating_mul(1000);
        let limits = Limits {
            frame_micros,
            surplus_micros: frame_micros.saturating_mul(most_frames as u32),
            // A quarter more than passes, so that a sender with a fast clock never adds up to two.
            drain_micros: period.micros().saturating_mul(5) / 4,
        };
        Ok((limits, FreshnessConfig { time_out: Millis::from_ticks(time_out), start_up }))
    }
}

/// What one step found.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Arrival {
    /// A valid frame came in this step.
    pub(crate) new_frame: bool,
    /// The last valid frame is young enough, and there is one sender only.
    pub(crate) fresh: bool,
    pub(crate) flaw: FrameFlaw,
}

/// Watches count, validity and rate of one message's frames.
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(crate) struct Arrivals {
    limits: Limits,
    period: Period,
    /// Of the last step; unknown before the first one.
    count: Option<u8>,
    /// Since any frame.
    heard: Freshness,
    /// Since a valid frame of a single sender.
    valid: Freshness,
    /// Frames that came ahead of the declared rate, in time.
    surplus_micros: u32,
    duplicated: bool,
    /// What the latest frame suffers from.
    cause: FrameFlaw,
}

impl Arrivals {
    pub(crate) const fn new(timing: Timing, period: Period) -> Result<Self, MessageTimingError> {
        let (limits, config) = match timing.resolve(period) {
            Ok(resolved) => resolved,
            Err(error) => return Err(error),
        };
        match Freshness::new(config, period) {
            Ok(freshness) => Ok(Self {
                limits,
                period,
                count: None,
                heard: freshness,
                valid: freshness,
                surplus_micros: 0,
                duplicated: false,
                cause: FrameFlaw::Waiting,
            }),
            // Out of reach: the ranges above lie inside those of the freshness.
            Err(_) => {
                Err(MessageTimingError::StartUpTooLong { value: config.start_up, longest: LONGEST_START_UP })
            }
        }
    }

    /// All or nothing; counts and times are kept.
    pub(crate) fn reconfigure(&mut self, timing: Timing) -> Result<(), MessageTimingError> {
        let (limits, config) = timing.resolve(self.period)?;
        if self.heard.reconfigure(config).is_ok() && self.valid.reconfigure(config).is_ok() {
            self.limits = limits;
        }
        Ok(())
    }

    /// As after start, except that frames counted before are not taken for new ones.
    pub(crate) fn reset(&mut self) {
        self.heard.reset();
        self.valid.reset();
        self.surplus_micros = 0;
        self.duplicated = false;
        self.cause = FrameFlaw::Waiting;
    }

    /// One step with the message's count and what the latest frame suffers from.
    pub(crate) fn step(&mut self, count: u8, latest: FrameFlaw) -> Arrival {
        self.step_with(count, || latest)
    }

    /// The same; the latest frame is read only when one came.
    pub(crate) fn step_with(&mut self, count: u8, latest: impl FnOnce() -> FrameFlaw) -> Arrival {
        let came = match self.count {
            Some(before) => count.wrapping_sub(before),
            // However many came before the program started, only the latest is there to be looked at.
            None => u8::from(count > 0),
        };
        self.count = Some(count);
        self.meter(came);
        let new = came > 0;
        if new {
            self.cause = if self.duplicated { FrameFlaw::Duplicated } else { latest() };
        }
        let new_frame = new && self.cause == FrameFlaw::None;
        let heard = self.heard.step(new);
        let valid = self.valid.step(new_frame);
        let fresh = valid == FreshnessState::Fresh && !self.duplicated;
        Arrival { new_frame, fresh, flaw: self.flaw(heard, valid) }
    }

    /// What the latest frame suffers from.
    #[cfg(test)]
    pub(crate) const fn cause(&self) -> FrameFlaw {
        self.cause
    }

    /// A bucket that a frame fills by its period and time empties a little faster: one sender never fills
    /// it, two senders do.
    fn meter(&mut self, came: u8) {
        let worth = self.limits.frame_micros.saturating_mul(u32::from(came));
        let limit = self.limits.surplus_micros;
        let level = self.surplus_micros.saturating_sub(self.limits.drain_micros).saturating_add(worth);
        self.surplus_micros = level.min(limit.saturating_mul(2));
        if level > limit {
            self.duplicated = true;
        } else if level <= self.limits.frame_micros {
            self.duplicated = false;
        }
    }

    fn flaw(&self, heard: FreshnessState, valid: FreshnessState) -> FrameFlaw {
        if self.duplicated {
            return FrameFlaw::Duplicated;
        }
        match (valid, heard) {
            (FreshnessState::Waiting, _) => FrameFlaw::Waiting,
            (_, FreshnessState::Fresh) => self.cause,
            (FreshnessState::NeverSeen, _) => FrameFlaw::NeverSeen,
            (FreshnessState::Lost | FreshnessState::Fresh, _) => FrameFlaw::Lost,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn timing(period: u32) -> Timing {
        Timing { period: Millis::millis(period), start_up: Millis::millis(2_000), most_frames: 4 }
    }

    /// What each tick finds when frames come at these times in microseconds, all of them sound.
    fn watch(period: u32, ticks: u32, mut frames: Vec<i64>) -> Vec<Arrival> {
        frames.sort_unstable();
        let mut arrivals = Arrivals::new(timing(period), TICK).unwrap();
        (1..=ticks)
            .map(|tick| {
                let count = frames.iter().filter(|time| **time <= i64::from(tick) * 10_000).count();
                arrivals.step(count as u8, FrameFlaw::None)
            })
            .collect()
    }

    /// Times of a sender whose clock is off by `drift` percent and whose frames wait for a busy bus.
    fn sender(period: u32, drift: i64, phase: i64, delays: &[i64], frames: i64) -> Vec<i64> {
        let interval = i64::from(period) * 10 * (100 - drift);
        (0..frames).map(|frame| phase + frame * interval + delays[frame as usize % delays.len()]).collect()
    }

    #[test]
    fn each_broken_rule_is_refused_by_name_and_changes_nothing() {
        let mut arrivals = Arrivals::new(timing(20), TICK).unwrap();
        let good = timing(20);
        for (timing, message) in [
            (Timing { period: Millis::millis(9), ..good }, "period is 9 ms; it must be 10 ms to 150 ms"),
            (Timing { period: Millis::millis(151), ..good }, "period is 151 ms; it must be 10 ms to 150 ms"),
            (
                Timing { start_up: Millis::millis(60_001), ..good },
                "start_up is 60001 ms; it must be at most 60000 ms",
            ),
            (Timing { most_frames: 1, ..good }, "most_frames is 1; it must be 2 to 10"),
            (Timing { most_frames: 11, ..good }, "most_frames is 11; it must be 2 to 10"),
        ] {
            assert_eq!(arrivals.reconfigure(timing).unwrap_err().to_string(), message);
            assert_eq!((arrivals.limits.frame_micros, arrivals.limits.surplus_micros), (20_000, 80_000));
        }
    }

    #[test]
    fn the_time_out_is_three_periods_and_never_above_300_ms() {
        for micros in [1_000, 5_000, 10_000, 20_000] {
            for period in 10..=150 {
                let tick = Period::from_micros(micros).unwrap();
                let mut arrivals = Arrivals::new(timing(period), tick).unwrap();
                arrivals.step(1, FrameFlaw::None);
                let silent = (1..).find(|_| !arrivals.step(1, FrameFlaw::None).fresh).unwrap();
                assert_eq!(silent, (period * 3_000).min(300_000).div_ceil(micros));
            }
        }
    }

    #[test]
    fn frames_from_before_the_program_started_are_one_frame() {
        let mut arrivals = Arrivals::new(timing(20), TICK).unwrap();
        let first = arrivals.step(200, FrameFlaw::None);
        assert!(first.new_frame && first.fresh && first.flaw == FrameFlaw::None);
        arrivals.reset();
        let after_reset = arrivals.step(200, FrameFlaw::None);
        assert!(!after_reset.new_frame && after_reset.flaw == FrameFlaw::Waiting);
    }

    #[test]
    fn after_the_second_sender_is_gone_the_next_valid_frame_counts_again() {
        let mut frames = sender(20, 0, 0, &[0], 300);
        frames.extend(sender(20, 0, 7_000, &[0], 50));
        let found = watch(20, 500, frames);
        assert!(found[50].flaw == FrameFlaw::Duplicated && !found[50].fresh);
        let last = found.last().unwrap();
        assert!(last.fresh && last.flaw == FrameFlaw::None);
    }

    proptest! {
        #[test]
        fn one_sender_is_never_taken_for_two(
            period in 10_u32..=150, drift in -20_i64..=20, phase in 0_i64..150_000,
            delays in proptest::collection::vec(0_i64..=50, 1..20)
        ) {
            let delays: Vec<i64> = delays.iter().map(|percent| percent * i64::from(period) * 10).collect();
            let found = watch(period, 600, sender(period, drift, phase, &delays, 200));
            prop_assert!(found.iter().all(|arrival| arrival.flaw != FrameFlaw::Duplicated));
        }

        #[test]
        fn two_senders_of_one_rate_are_found_within_six_periods(
            period in 10_u32..=150, phase in 0_i64..150_000, drift in -5_i64..=5
        ) {
            let phase = phase % (i64::from(period) * 1_000);
            let mut frames = sender(period, 0, 0, &[0], 250);
            frames.extend(sender(period, drift, phase, &[0], 250));
            let found = watch(period, 200, frames);
            // most_frames · 4/3 and one more for the tick that is already full.
            let bound = (i64::from(period) * 1_000 * 7 / 10_000 + 2) as usize;
            let first = found.iter().position(|arrival| arrival.flaw == FrameFlaw::Duplicated);
            prop_assert!(first.is_some_and(|first| first <= bound), "{:?} of {}", first, bound);
            prop_assert!(found[first.unwrap()..].iter().all(|arrival| !arrival.fresh && !arrival.new_frame));
        }
    }
}
