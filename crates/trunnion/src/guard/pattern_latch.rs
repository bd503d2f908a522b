//! The lever pattern changes only at rest.

use core::fmt;

use crate::quantity::{Millis, Period};

/// Rules of a [`PatternLatch`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct PatternLatchConfig {
    /// How long the machine must be at rest with its levers neutral, 50 ms to 5 s; common practice is 100 ms.
    pub hold: Millis,
}

/// Why a [`PatternLatchConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PatternLatchConfigError {
    /// The time at rest is outside 50 ms to 5 s.
    Hold(Millis),
}

impl fmt::Display for PatternLatchConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Hold(given) = self;
        write!(formatter, "rest of {given} before a pattern change: set {SHORTEST_HOLD} to {LONGEST_HOLD}")
    }
}

impl core::error::Error for PatternLatchConfigError {}

const SHORTEST_HOLD: Millis = Millis::millis(50);
const LONGEST_HOLD: Millis = Millis::millis(5_000);

/// What a [`PatternLatch`] says after a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PatternState<P> {
    /// The pattern in force; `None`: no release.
    pub active: Option<P>,
    /// The rocker shows another pattern than the one in force.
    pub mismatch: bool,
    /// The pattern in force changed in this step.
    pub changed: bool,
    /// A request came at a wrong moment and was dropped in this step.
    pub dropped: bool,
}

/// Keeps the lever pattern until it may change.
///
/// - A first pattern is taken from the rocker when rocker and rest were steady for `hold`.
/// - Later, only a *move* of the rocker while rest already lasted for `hold` changes it. A move at any other time is
///   dropped, never queued: the mismatch shows until the rocker goes back, or goes back and is moved again at rest.
/// - A rocker that is invalid or missing takes the pattern away at once, and with it the release. It comes back like the
///   first one.
///
/// At rest means: standstill, ramps at zero, levers neutral. The rocker is debounced before.
///
#[doc = include_str!("../../docs/guard-pattern_latch.svg")]
///
/// ```
/// use trunnion::guard::{PatternLatch, PatternLatchConfig};
/// use trunnion::quantity::{Millis, Period};
///
/// #[derive(Debug, Clone, Copy, PartialEq)]
/// enum Pattern {
///     H,
///     Iso,
/// }
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let mut latch = PatternLatch::new(PatternLatchConfig { hold: Millis::millis(100) }, TICK).unwrap();
///
/// for _ in 0..11 {
///     latch.step(Some(Pattern::H), true);
/// }
/// assert_eq!(latch.active(), Some(Pattern::H));
/// let request = latch.step(Some(Pattern::Iso), false); // while driving
/// assert!(request.dropped && request.mismatch);
/// for _ in 0..100 {
///     assert_eq!(latch.step(Some(Pattern::Iso), true).active, Some(Pattern::H)); // not queued
/// }
/// latch.step(Some(Pattern::H), true);
/// assert!(latch.step(Some(Pattern::Iso), true).changed);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct PatternLatch<P> {
    hold: u32,
    period: Period,
    rested: u32,
    steady: u32,
    rocker: Option<P>,
    active: Option<P>,
}

impl<P: Copy + PartialEq> PatternLatch<P> {
    /// Shortest time at rest.
    pub const SHORTEST_HOLD: Millis = SHORTEST_HOLD;
    /// Longest time at rest.
    pub const LONGEST_HOLD: Millis = LONGEST_HOLD;

    /// No pattern. Refuses a time outside its range.
    ///
    /// # Errors
    ///
    /// [`PatternLatchConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: PatternLatchConfig, period: Period) -> Result<Self, PatternLatchConfigError> {
        if config.hold.ticks() < SHORTEST_HOLD.ticks() || config.hold.ticks() > LONGEST_HOLD.ticks() {
            return Err(PatternLatchConfigError::Hold(config.hold));
        }
        Ok(Self { hold: period.steps(config.hold), period, rested: 0, steady: 0, rocker: None, active: None })
    }

    /// Another time at rest; the pattern in force stays.
    ///
    /// # Errors
    ///
    /// [`PatternLatchConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: PatternLatchConfig) -> Result<(), PatternLatchConfigError> {
        self.hold = Self::new(config, self.period)?.hold;
        Ok(())
    }

    /// No pattern, as after power-up.
    pub fn reset(&mut self) {
        self.rested = 0;
        self.steady = 0;
        self.rocker = None;
        self.active = None;
    }

    /// One period; `rocker` is `None` where it is invalid or missing.
    pub fn step(&mut self, rocker: Option<P>, at_rest: bool) -> PatternState<P> {
        let before = self.active;
        let moved = rocker.is_some() && self.rocker.is_some() && rocker != self.rocker;
        let steady = rocker.is_some() && rocker == self.rocker;
        self.steady = if steady { self.steady.saturating_add(1) } else { 0 };
        self.rocker = rocker;

        let rested_enough = at_rest && self.rested >= self.hold;
        self.rested = if at_rest { self.rested.saturating_add(1) } else { 0 };

        let request = moved && rocker != before && before.is_some();
        let first = before.is_none() && rested_enough && self.steady >= self.hold;
        if rocker.is_none() || first || (request && rested_enough) {
            self.active = rocker;
        }
        PatternState {
            active: self.active,
            mismatch: self.active.is_some() && self.active != rocker,
            changed: self.active != before,
            dropped: request && !rested_enough,
        }
    }

    /// The pattern in force.
    pub const fn active(&self) -> Option<P> {
        self.active
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: PatternLatchConfig = PatternLatchConfig { hold: Millis::millis(100) };
    const HOLD: usize = 10;

    type Inputs = (Option<char>, bool);

    fn latch() -> PatternLatch<char> {
        PatternLatch::new(CONFIG, TICK).unwrap()
    }

    fn stream() -> impl Strategy<Value = Vec<Inputs>> {
        let rocker = prop_oneof![4 => Just(Some('H')), 4 => Just(Some('I')), 1 => Just(None)];
        proptest::collection::vec((rocker, prop::bool::weighted(0.7), 1usize..25), 1..30).prop_map(
            |segments| {
                segments
                    .into_iter()
                    .flat_map(|(rocker, at_rest, steps)| std::iter::repeat_n((rocker, at_rest), steps))
                    .collect()
            },
        )
    }

    /// For how many steps before the last one of `history` the machine was at rest without a break.
    fn rested(history: &[Inputs]) -> usize {
        history.iter().rev().take_while(|(_, at_rest)| *at_rest).count()
    }

    proptest! {
        #[test]
        fn the_pattern_changes_only_after_rest_for_the_hold_time(stream in stream()) {
            let mut latch = latch();
            for now in 1..=stream.len() {
                let (rocker, at_rest) = stream[now - 1];
                let state = latch.step(rocker, at_rest);
                if state.changed && state.active.is_some() {
                    prop_assert!(rested(&stream[..now]) > HOLD, "changed after {} steps", rested(&stream[..now]));
                }
            }
        }

        #[test]
        fn a_pattern_in_force_is_replaced_only_in_the_step_in_which_the_rocker_moves(stream in stream()) {
            let mut latch = latch();
            let mut last = None;
            for (rocker, at_rest) in stream {
                let before = latch.active();
                let state = latch.step(rocker, at_rest);
                if state.changed && before.is_some() && state.active.is_some() {
                    prop_assert!(rocker != last && last.is_some());
                }
                last = rocker;
            }
        }

        #[test]
        fn no_valid_rocker_no_pattern(stream in stream()) {
            let mut latch = latch();
            for (rocker, at_rest) in stream {
                let state = latch.step(rocker, at_rest);
                prop_assert!(rocker.is_some() || state.active.is_none());
                prop_assert_eq!(state.mismatch, state.active.is_some() && state.active != rocker);
                prop_assert_eq!(state.active, latch.active());
            }
        }

        #[test]
        fn every_request_is_either_followed_or_dropped(stream in stream()) {
            let mut latch = latch();
            let mut last = None;
            for (rocker, at_rest) in stream {
                let before = latch.active();
                let state = latch.step(rocker, at_rest);
                let request = before.is_some() && rocker.is_some() && rocker != last && rocker != before;
                if request {
                    prop_assert!(state.changed != state.dropped);
                    prop_assert_eq!(state.dropped, state.mismatch);
                } else {
                    prop_assert!(!state.dropped);
                }
                last = rocker;
            }
        }

        #[test]
        fn at_rest_for_long_enough_any_valid_rocker_that_was_missing_gives_its_pattern(stream in stream()) {
            let mut latch = latch();
            for (rocker, at_rest) in stream {
                latch.step(rocker, at_rest);
            }
            latch.step(None, true);
            for _ in 0..=HOLD {
                prop_assert_eq!(latch.active(), None);
                latch.step(Some('H'), true);
            }
            prop_assert_eq!(latch.active(), Some('H'));
        }
    }

    #[test]
    fn a_time_outside_its_range_is_refused_with_the_range() {
        let hold = Millis::millis(5_001);
        let error = PatternLatch::<char>::new(PatternLatchConfig { hold }, TICK).unwrap_err();
        assert_eq!(std::format!("{error}"), "rest of 5001 ms before a pattern change: set 50 ms to 5000 ms");
    }

    four_verbs! {
        new: |config| PatternLatch::<char>::new(config, TICK),
        configs: (PatternLatchConfig { hold: Millis::millis(100) }, PatternLatchConfig { hold: Millis::millis(150) }),
        accepted: [
            PatternLatchConfig { hold: Millis::millis(50) },
            PatternLatchConfig { hold: Millis::millis(5000) },
        ],
        refused: [
            PatternLatchConfig { hold: Millis::millis(49) } => "rest of 49 ms before a pattern change: set 50 ms to 5000 ms",
            PatternLatchConfig { hold: Millis::millis(5001) } => "rest of 5001 ms before a pattern change: set 50 ms to 5000 ms",
        ],
        inputs: (proptest::sample::select(&[Some('H'), Some('I'), None]), prop::bool::weighted(0.8)),
        step: |block, (rocker, at_rest)| (block.step(rocker, at_rest), block.active()),
        reset: |block| block.reset(),
    }
}
