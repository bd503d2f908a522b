//! Whether the loop keeps its period.

use core::fmt;

use crate::quantity::{Millis, Period};

/// Rules of a [`LoopAlive`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct LoopAliveConfig {
    /// Overruns that make the loop unreliable, 1 to 100.
    pub overruns: u8,
    /// Time without an overrun after which one is forgotten, 100 ms to 60 s.
    pub forget_after: Millis,
}

/// Why a [`LoopAliveConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum LoopAliveConfigError {
    /// The number of overruns is outside 1 to 100.
    Overruns(u8),
    /// The time to forget is outside 100 ms to 60 s.
    ForgetAfter(Millis),
}

impl fmt::Display for LoopAliveConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Overruns(given) => {
                write!(formatter, "{given} overruns: set 1 to {}", LoopAlive::MOST_OVERRUNS)
            }
            Self::ForgetAfter(given) => write!(
                formatter,
                "an overrun forgotten after {given}: set {} to {}",
                LoopAlive::SHORTEST,
                LoopAlive::LONGEST
            ),
        }
    }
}

impl core::error::Error for LoopAliveConfigError {}

/// Watches the counter of missed ticks: an overrun makes every ramp and every wait slower than it says.
///
/// Counts overruns from the free-running counter of the shell (its wrap is harmless) and forgets one after each quiet
/// time. Says whether the loop keeps its period.
///
#[doc = include_str!("../../docs/guard-loop_alive.svg")]
///
/// ```
/// use trunnion::guard::{LoopAlive, LoopAliveConfig};
/// use trunnion::quantity::{Millis, Period};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = LoopAliveConfig { overruns: 3, forget_after: Millis::millis(1_000) };
/// let mut alive = LoopAlive::new(config, TICK).unwrap();
/// assert!(alive.step(254)); // what was missed before the start does not count
/// assert!(alive.step(0));
/// assert!(!alive.step(1)); // three since
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct LoopAlive {
    overruns: u8,
    forget_after: u32,
    period: Period,
    last: Option<u8>,
    counted: u8,
    quiet_for: u32,
}

impl LoopAlive {
    /// Most overruns that may be tolerated.
    pub const MOST_OVERRUNS: u8 = 100;
    /// Shortest time to forget an overrun.
    pub const SHORTEST: Millis = Millis::millis(100);
    /// Longest time to forget an overrun.
    pub const LONGEST: Millis = Millis::millis(60_000);

    /// With no overrun counted. Refuses a number or a time outside its range.
    ///
    /// # Errors
    ///
    /// [`LoopAliveConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: LoopAliveConfig, period: Period) -> Result<Self, LoopAliveConfigError> {
        let LoopAliveConfig { overruns, forget_after } = config;
        if overruns == 0 || overruns > Self::MOST_OVERRUNS {
            return Err(LoopAliveConfigError::Overruns(overruns));
        }
        if forget_after.ticks() < Self::SHORTEST.ticks() || forget_after.ticks() > Self::LONGEST.ticks() {
            return Err(LoopAliveConfigError::ForgetAfter(forget_after));
        }
        let forget_after = period.steps(forget_after);
        Ok(Self { overruns, forget_after, period, last: None, counted: 0, quiet_for: 0 })
    }

    /// Other rules; what was counted stays.
    ///
    /// # Errors
    ///
    /// [`LoopAliveConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: LoopAliveConfig) -> Result<(), LoopAliveConfigError> {
        let Self { overruns, forget_after, .. } = Self::new(config, self.period)?;
        *self = Self { overruns, forget_after, ..*self };
        Ok(())
    }

    /// Forgets all overruns.
    pub fn reset(&mut self) {
        self.last = None;
        self.counted = 0;
        self.quiet_for = 0;
    }

    /// One period; `missed` is the free-running counter of missed ticks. True while the loop keeps its period.
    pub fn step(&mut self, missed: u8) -> bool {
        let new = self.last.map_or(0, |last| missed.wrapping_sub(last));
        self.last = Some(missed);
        if new > 0 {
            self.quiet_for = 0;
            self.counted = self.counted.saturating_add(new);
            return self.counted < self.overruns;
        }
        self.quiet_for = self.quiet_for.saturating_add(1);
        if self.quiet_for >= self.forget_after {
            self.quiet_for = 0;
            self.counted = self.counted.saturating_sub(1);
        }
        self.counted < self.overruns
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: LoopAliveConfig = LoopAliveConfig { overruns: 3, forget_after: Millis::millis(1_000) };

    proptest! {
        #[test]
        fn fewer_overruns_than_allowed_are_tolerated_and_as_many_are_not(before: u8, overruns in 0u8..100) {
            let mut alive = LoopAlive::new(CONFIG, TICK).unwrap();
            prop_assert!(alive.step(before));
            prop_assert_eq!(alive.step(before.wrapping_add(overruns)), overruns < 3);
        }

        #[test]
        fn each_quiet_time_forgets_one_overrun(before: u8, overruns in 3u8..20) {
            let mut alive = LoopAlive::new(CONFIG, TICK).unwrap();
            alive.step(before);
            let missed = before.wrapping_add(overruns);
            alive.step(missed);
            let steps = (1u32..).find(|_| alive.step(missed)).unwrap();
            prop_assert_eq!(steps, (u32::from(overruns) - 2) * 100);
        }
    }

    #[test]
    fn another_quiet_time_counts_from_the_next_step() {
        let mut alive = LoopAlive::new(CONFIG, TICK).unwrap();
        alive.step(0);
        assert!(!alive.step(3));
        alive.reconfigure(LoopAliveConfig { forget_after: Millis::millis(200), ..CONFIG }).unwrap();
        assert_eq!((1_u32..).find(|_| alive.step(3)), Some(20));
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let error = LoopAlive::new(LoopAliveConfig { overruns: 101, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(std::format!("{error}"), "101 overruns: set 1 to 100");
        let forget_after = Millis::millis(99);
        let error = LoopAlive::new(LoopAliveConfig { forget_after, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(error, LoopAliveConfigError::ForgetAfter(forget_after));
    }

    four_verbs! {
        new: |config| LoopAlive::new(config, TICK),
        configs: (CONFIG, LoopAliveConfig { overruns: 5, forget_after: Millis::millis(150) }),
        accepted: [
            LoopAliveConfig { overruns: 1, ..CONFIG },
            LoopAliveConfig { overruns: 100, ..CONFIG },
            LoopAliveConfig { forget_after: Millis::millis(100), ..CONFIG },
            LoopAliveConfig { forget_after: Millis::millis(60000), ..CONFIG },
        ],
        refused: [
            LoopAliveConfig { overruns: 0, ..CONFIG } => "0 overruns: set 1 to 100",
            LoopAliveConfig { overruns: 101, ..CONFIG } => "101 overruns: set 1 to 100",
            LoopAliveConfig { forget_after: Millis::millis(99), ..CONFIG } => "an overrun forgotten after 99 ms: set 100 ms to 60000 ms",
            LoopAliveConfig { forget_after: Millis::millis(60001), ..CONFIG } => "an overrun forgotten after 60001 ms: set 100 ms to 60000 ms",
        ],
        inputs: prop_oneof![3 => Just(0_u8), 1 => Just(7_u8), 1 => any::<u8>()],
        step: |block, missed| block.step(missed),
        reset: |block| block.reset(),
    }
}
