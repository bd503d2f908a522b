//! A contact without its bounces.

use crate::quantity::{Millis, Period};

/// Times of a [`Debounce`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct DebounceConfig {
    /// How long the contact must be closed before it counts as closed, 0 to 60 s.
    pub set_after: Millis,
    /// How long it must be open before it counts as open, 0 to 60 s.
    pub clear_after: Millis,
}

/// Why a [`DebounceConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum DebounceConfigError {
    /// `set_after` is too long.
    SetAfterTooLong {
        /// What was asked for.
        value: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
    /// `clear_after` is too long.
    ClearAfterTooLong {
        /// What was asked for.
        value: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
}

impl core::fmt::Display for DebounceConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::SetAfterTooLong { value, longest } => {
                write!(formatter, "set_after is {value}; it must be at most {longest}")
            }
            Self::ClearAfterTooLong { value, longest } => {
                write!(formatter, "clear_after is {value}; it must be at most {longest}")
            }
        }
    }
}

impl core::error::Error for DebounceConfigError {}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Limits {
    set_steps: u32,
    clear_steps: u32,
}

impl Limits {
    const LONGEST: Millis = Millis::from_ticks(60_000);

    const fn resolve(config: DebounceConfig, period: Period) -> Result<Self, DebounceConfigError> {
        let longest = Self::LONGEST;
        if config.set_after.ticks() > longest.ticks() {
            return Err(DebounceConfigError::SetAfterTooLong { value: config.set_after, longest });
        }
        if config.clear_after.ticks() > longest.ticks() {
            return Err(DebounceConfigError::ClearAfterTooLong { value: config.clear_after, longest });
        }
        Ok(Self { set_steps: period.steps(config.set_after), clear_steps: period.steps(config.clear_after) })
    }
}

/// A level that must hold for its time before it counts.
///
/// The time starts at the first step that sees the new level and is never shorter than asked; a step with
/// the old level starts it anew. Starts open (`false`).
///
#[doc = include_str!("../../docs/sense-debounce.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::sense::{Debounce, DebounceConfig};
///
/// // On rough ground the operator leaves the seat for a moment.
/// let tick = Period::from_micros(10_000).unwrap();
/// let mut seated = Debounce::new(
///     DebounceConfig { set_after: Millis::millis(50), clear_after: Millis::millis(700) },
///     tick,
/// )
/// .unwrap();
/// for _ in 0..6 {
///     seated.step(true);
/// }
/// assert!(seated.state());
/// for _ in 0..70 {
///     assert!(seated.step(false), "still within 0.7 s");
/// }
/// assert!(!seated.step(false));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Debounce {
    limits: Limits,
    period: Period,
    state: bool,
    /// Steps since the level that is not yet believed was first seen.
    waited: u32,
}

impl Debounce {
    /// Refuses times above 60 s.
    ///
    /// # Errors
    ///
    /// [`DebounceConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: DebounceConfig, period: Period) -> Result<Self, DebounceConfigError> {
        match Limits::resolve(config, period) {
            Ok(limits) => Ok(Self { limits, period, state: false, waited: 0 }),
            Err(error) => Err(error),
        }
    }

    /// Takes new times as a whole or refuses them as a whole; level and time waited are kept.
    ///
    /// # Errors
    ///
    /// [`DebounceConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: DebounceConfig) -> Result<(), DebounceConfigError> {
        self.limits = Limits::resolve(config, self.period)?;
        Ok(())
    }

    /// Open again, nothing waited.
    pub fn reset(&mut self) {
        self.state = false;
        self.waited = 0;
    }

    /// One step with the raw level; gives the level that counts.
    pub fn step(&mut self, level: bool) -> bool {
        if level == self.state {
            self.waited = 0;
            return self.state;
        }
        let needed = if level { self.limits.set_steps } else { self.limits.clear_steps };
        if self.waited >= needed {
            self.state = level;
            self.waited = 0;
        } else {
            self.waited = self.waited.saturating_add(1);
        }
        self.state
    }

    /// The level that counts.
    pub const fn state(&self) -> bool {
        self.state
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn config(set: u32, clear: u32) -> DebounceConfig {
        DebounceConfig { set_after: Millis::millis(set), clear_after: Millis::millis(clear) }
    }

    #[test]
    fn times_above_a_minute_are_refused_and_change_nothing() {
        let mut debounce = Debounce::new(config(10, 20), TICK).unwrap();
        let error = debounce.reconfigure(config(60_001, 0)).unwrap_err();
        assert_eq!(error.to_string(), "set_after is 60001 ms; it must be at most 60000 ms");
        let error = debounce.reconfigure(config(0, 70_000)).unwrap_err();
        assert_eq!(error.to_string(), "clear_after is 70000 ms; it must be at most 60000 ms");
        assert_eq!((debounce.limits.set_steps, debounce.limits.clear_steps), (1, 2));
    }

    #[test]
    fn without_times_the_level_passes_through() {
        let mut debounce = Debounce::new(config(0, 0), TICK).unwrap();
        assert_eq!([true, false, true].map(|level| debounce.step(level)), [true, false, true]);
        assert!(debounce.state());
        debounce.reset();
        assert!(!debounce.state());
    }

    proptest! {
        #[test]
        fn a_level_counts_once_it_was_seen_without_a_break_for_longer_than_its_time(
            set in 0_u32..6, clear in 0_u32..6, levels in proptest::collection::vec(any::<bool>(), 0..100)
        ) {
            let mut debounce = Debounce::new(config(set * 10, clear * 10), TICK).unwrap();
            let mut expected = false;
            for (step, level) in levels.iter().enumerate() {
                let run = levels[..=step].iter().rev().take_while(|before| *before == level).count();
                let time = if *level { set } else { clear };
                if run > time as usize {
                    expected = *level;
                }
                prop_assert_eq!(debounce.step(*level), expected);
            }
        }

        #[test]
        fn new_times_keep_the_level(set in 0_u32..60_000, clear in 0_u32..60_000) {
            let mut debounce = Debounce::new(config(0, 0), TICK).unwrap();
            debounce.step(true);
            debounce.reconfigure(config(set, clear)).unwrap();
            let levels: Vec<bool> = (0..3).map(|_| debounce.step(true)).collect();
            prop_assert_eq!(levels, [true; 3]);
        }
    }

    four_verbs! {
        new: |config| Debounce::new(config, TICK),
        configs: (config(100, 200), config(250, 70)),
        accepted: [
            config(0, 0),
            config(60000, 60000),
        ],
        refused: [
            config(60001, 0) => "set_after is 60001 ms; it must be at most 60000 ms",
            config(0, 60001) => "clear_after is 60001 ms; it must be at most 60000 ms",
        ],
        inputs: any::<bool>(),
        step: |block, level| (block.step(level), block.state()),
        reset: |block| block.reset(),
    }
}
