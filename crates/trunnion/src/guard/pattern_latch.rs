//! The lever pattern changes only at rest.

use core::fmt;

use crate::quantity::{Millis, Period};

/// Rules of a [`PatternLatch`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PatternLatchConfig {
    /// How long the machine must be at rest with its levers neutral, 50 ms to 5 s; common practice is 100 ms.
    pub hold: Millis,
}

/// Why a [`PatternLatchConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
#[derive(Debug, Clone, Copy)]
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
    pub const fn new(config: PatternLatchConfig, period: Period) -> Result<Self, PatternLatchConfigError> {
        if config.hold.ticks() < SHORTEST_HOLD.ticks() || config.hold.ticks() > LONGEST_HOLD.ticks() {
            return Err(PatternLatchConfigError::Hold(config.hold));
        }
        Ok(Self { hold: period.steps(config.hold), period, rested: 0, steady: 0, rocker: None, active: None })
    }

    /// Another time at rest; the pattern in force stays.
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
