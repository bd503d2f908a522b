//! A level that must last.

use crate::quantity::{Millis, Period};

/// Time of an [`OnDelay`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct OnDelayConfig {
    /// How long the level must be true, 0 to 1 h.
    pub delay: Millis,
}

/// Time of an [`OffDelay`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct OffDelayConfig {
    /// How long the level must be false, 0 to 1 h.
    pub delay: Millis,
}

/// Why an [`OnDelayConfig`] or an [`OffDelayConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum DelayConfigError {
    /// `delay` is too long.
    DelayTooLong {
        /// What was asked for.
        value: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
}

impl core::fmt::Display for DelayConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Self::DelayTooLong { value, longest } = self;
        write!(formatter, "delay is {value}; it must be at most {longest}")
    }
}

impl core::error::Error for DelayConfigError {}

const LONGEST: Millis = Millis::from_ticks(3_600_000);

const fn steps(value: Millis, period: Period) -> Result<u32, DelayConfigError> {
    if value.ticks() > LONGEST.ticks() {
        return Err(DelayConfigError::DelayTooLong { value, longest: LONGEST });
    }
    Ok(period.steps(value))
}

/// True once the level was true for the delay; false at once when it is false.
///
/// The time starts at the first step with a true level and is never shorter than asked. A delay of zero
/// passes the level through.
///
#[doc = include_str!("../../docs/timing-on_delay.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::timing::{OnDelay, OnDelayConfig};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let mut held = OnDelay::new(OnDelayConfig { delay: Millis::millis(20) }, tick).unwrap();
/// assert_eq!([true, true, true, false, true].map(|level| held.step(level)), [false, false, true, false, false]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct OnDelay {
    delay_steps: u32,
    period: Period,
    /// Steps since the level became true, held at the delay.
    waited: u32,
    output: bool,
}

impl OnDelay {
    /// Refuses a delay above 1 h.
    ///
    /// # Errors
    ///
    /// [`DelayConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: OnDelayConfig, period: Period) -> Result<Self, DelayConfigError> {
        match steps(config.delay, period) {
            Ok(delay_steps) => Ok(Self { delay_steps, period, waited: 0, output: false }),
            Err(error) => Err(error),
        }
    }

    /// Takes a new delay or refuses it; the time waited is kept, and an output that is on stays on.
    ///
    /// # Errors
    ///
    /// [`DelayConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: OnDelayConfig) -> Result<(), DelayConfigError> {
        self.delay_steps = steps(config.delay, self.period)?;
        Ok(())
    }

    /// Off, nothing waited.
    pub fn reset(&mut self) {
        self.waited = 0;
        self.output = false;
    }

    /// One step.
    pub fn step(&mut self, level: bool) -> bool {
        if !level {
            self.reset();
        } else if self.waited >= self.delay_steps {
            self.output = true;
        } else {
            self.waited = self.waited.saturating_add(1);
        }
        self.output
    }

    /// What the last step gave.
    pub const fn output(&self) -> bool {
        self.output
    }
}

/// True at once when the level is true; false once it was false for the delay.
///
/// The time starts at the first step with a false level and is never shorter than asked. A delay of zero
/// passes the level through.
///
#[doc = include_str!("../../docs/timing-off_delay.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::timing::{OffDelay, OffDelayConfig};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let mut reverse_alarm = OffDelay::new(OffDelayConfig { delay: Millis::millis(20) }, tick).unwrap();
/// let levels = [false, true, false, false, false];
/// assert_eq!(levels.map(|level| reverse_alarm.step(level)), [false, true, true, true, false]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct OffDelay {
    delay_steps: u32,
    period: Period,
    waited: u32,
    output: bool,
}

impl OffDelay {
    /// Refuses a delay above 1 h.
    ///
    /// # Errors
    ///
    /// [`DelayConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: OffDelayConfig, period: Period) -> Result<Self, DelayConfigError> {
        match steps(config.delay, period) {
            Ok(delay_steps) => Ok(Self { delay_steps, period, waited: 0, output: false }),
            Err(error) => Err(error),
        }
    }

    /// Takes a new delay or refuses it; the time waited is kept, and an output that is off stays off.
    ///
    /// # Errors
    ///
    /// [`DelayConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: OffDelayConfig) -> Result<(), DelayConfigError> {
        self.delay_steps = steps(config.delay, self.period)?;
        Ok(())
    }

    /// Off, nothing waited.
    pub fn reset(&mut self) {
        self.waited = 0;
        self.output = false;
    }

    /// One step.
    pub fn step(&mut self, level: bool) -> bool {
        if level {
            self.waited = 0;
            self.output = true;
        } else if self.waited >= self.delay_steps {
            self.output = false;
        } else {
            self.waited = self.waited.saturating_add(1);
        }
        self.output
    }

    /// What the last step gave.
    pub const fn output(&self) -> bool {
        self.output
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    #[test]
    fn a_delay_above_an_hour_is_refused_and_changes_nothing() {
        let mut on = OnDelay::new(OnDelayConfig { delay: Millis::millis(20) }, TICK).unwrap();
        let error = on.reconfigure(OnDelayConfig { delay: Millis::millis(3_600_001) }).unwrap_err();
        assert_eq!(error.to_string(), "delay is 3600001 ms; it must be at most 3600000 ms");
        assert_eq!(on.delay_steps, 2);
        assert!(OffDelay::new(OffDelayConfig { delay: Millis::millis(3_600_001) }, TICK).is_err());
    }

    #[test]
    fn a_longer_delay_does_not_switch_off_what_is_on() {
        let mut on = OnDelay::new(OnDelayConfig { delay: Millis::millis(0) }, TICK).unwrap();
        assert!(on.step(true));
        on.reconfigure(OnDelayConfig { delay: Millis::millis(1_000) }).unwrap();
        assert!(on.step(true));
        on.reset();
        assert!(!on.step(true));
    }

    #[test]
    fn an_off_delay_is_off_until_the_level_was_true() {
        let mut off = OffDelay::new(OffDelayConfig { delay: Millis::millis(1_000) }, TICK).unwrap();
        assert!(!off.step(false));
        assert!(off.step(true) && off.step(false));
        off.reset();
        assert!(!off.step(false));
    }

    proptest! {
        #[test]
        fn outputs_follow_from_the_length_of_the_present_run(
            time in 0_u32..6, levels in proptest::collection::vec(any::<bool>(), 0..100)
        ) {
            let mut on = OnDelay::new(OnDelayConfig { delay: Millis::millis(time * 10) }, TICK).unwrap();
            let mut off = OffDelay::new(OffDelayConfig { delay: Millis::millis(time * 10) }, TICK).unwrap();
            for step in 0..levels.len() {
                let level = levels[step];
                let run = levels[..=step].iter().rev().take_while(|before| **before == level).count();
                let over = run > time as usize;
                prop_assert_eq!(on.step(level), level && over);
                prop_assert_eq!(on.output(), level && over);
                let was_true = levels[..=step].contains(&true);
                prop_assert_eq!(off.step(level), level || (was_true && !over));
                prop_assert_eq!(off.output(), level || (was_true && !over));
            }
        }
    }

    mod on_delay {
        use super::*;

        four_verbs! {
            new: |config| OnDelay::new(config, TICK),
            configs: (OnDelayConfig { delay: Millis::millis(100) }, OnDelayConfig { delay: Millis::millis(160) }),
            accepted: [
                OnDelayConfig { delay: Millis::millis(0) },
                OnDelayConfig { delay: Millis::millis(3600000) },
            ],
            refused: [
                OnDelayConfig { delay: Millis::millis(3600001) } => "delay is 3600001 ms; it must be at most 3600000 ms",
            ],
            inputs: any::<bool>(),
            step: |block, level| (block.step(level), block.output()),
            reset: |block| block.reset(),
        }
    }

    mod off_delay {
        use super::*;

        four_verbs! {
            new: |config| OffDelay::new(config, TICK),
            configs: (OffDelayConfig { delay: Millis::millis(100) }, OffDelayConfig { delay: Millis::millis(160) }),
            accepted: [
                OffDelayConfig { delay: Millis::millis(0) },
                OffDelayConfig { delay: Millis::millis(3600000) },
            ],
            refused: [
                OffDelayConfig { delay: Millis::millis(3600001) } => "delay is 3600001 ms; it must be at most 3600000 ms",
            ],
            inputs: any::<bool>(),
            step: |block, level| (block.step(level), block.output()),
            reset: |block| block.reset(),
        }
    }
}
