//! A two-digit code on one lamp.

use crate::quantity::{Millis, Period};

/// Times of a [`BlinkCode`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct BlinkCodeConfig {
    /// Length of a short blink, 50 ms to 2 s; a long one lasts three times as long.
    pub on: Millis,
    /// Dark between two blinks, 50 ms to 2 s.
    pub off: Millis,
    /// Dark between two codes, at least twice `off`, at most 10 s.
    pub pause: Millis,
}

/// Why a [`BlinkCodeConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum BlinkCodeConfigError {
    /// `on` is outside its range.
    OnOutOfRange {
        /// What was asked for.
        value: Millis,
        /// The least that is allowed.
        shortest: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
    /// `off` is outside its range.
    OffOutOfRange {
        /// What was asked for.
        value: Millis,
        /// The least that is allowed.
        shortest: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
    /// `pause` is too short to be told from the dark between two blinks, or too long.
    PauseOutOfRange {
        /// What was asked for.
        value: Millis,
        /// The least that is allowed: twice `off`.
        shortest: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
}

impl core::fmt::Display for BlinkCodeConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let (name, value, shortest, longest) = match self {
            Self::OnOutOfRange { value, shortest, longest } => ("on", value, shortest, longest),
            Self::OffOutOfRange { value, shortest, longest } => ("off", value, shortest, longest),
            Self::PauseOutOfRange { value, shortest, longest } => ("pause", value, shortest, longest),
        };
        write!(formatter, "{name} is {value}; it must be {shortest} to {longest}")
    }
}

impl core::error::Error for BlinkCodeConfigError {}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Limits {
    short_steps: u32,
    long_steps: u32,
    off_steps: u32,
    pause_steps: u32,
}

impl Limits {
    const SHORTEST: Millis = Millis::from_ticks(50);
    const LONGEST: Millis = Millis::from_ticks(2_000);
    const LONGEST_PAUSE: Millis = Millis::from_ticks(10_000);

    const fn resolve(config: BlinkCodeConfig, period: Period) -> Result<Self, BlinkCodeConfigError> {
        use BlinkCodeConfigError::*;
        let BlinkCodeConfig { on, off, pause } = config;
        let (shortest, longest) = (Self::SHORTEST, Self::LONGEST);
        if on.ticks() < shortest.ticks() || on.ticks() > longest.ticks() {
            return Err(OnOutOfRange { value: on, shortest, longest });
        }
        if off.ticks() < shortest.ticks() || off.ticks() > longest.ticks() {
            return Err(OffOutOfRange { value: off, shortest, longest });
        }
        let shortest_pause = Millis::from_ticks(off.ticks().saturating_mul(2));
        if pause.ticks() < shortest_pause.ticks() || pause.ticks() > Self::LONGEST_PAUSE.ticks() {
            return Err(PauseOutOfRange {
                value: pause,
                shortest: shortest_pause,
                longest: Self::LONGEST_PAUSE,
            });
        }
        Ok(Self {
            short_steps: period.steps(on),
            long_steps: period.steps(Millis::from_ticks(on.ticks().saturating_mul(3))),
            off_steps: period.steps(off),
            pause_steps: period.steps(pause),
        })
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Phase {
    /// Ready for a code.
    Idle,
    /// A blink, with the steps that it still lasts.
    Lit { left: u32 },
    /// Between two blinks.
    Dark { left: u32 },
    /// After the last blink.
    Pause { left: u32 },
}

/// Shows a code of two digits on one lamp: tens as long blinks, then units as short ones, then a pause.
///
/// Code 23 is long, long, short, short, short. A code runs to its end before the next one starts, so that a
/// reader never counts a mixture; 0 is dark, above 99 counts as 99. What the lamp does without a code (dark,
/// or lit as "ready") is the caller's choice.
///
#[doc = include_str!("../../docs/fault-blink_code.svg")]
///
/// ```
/// use trunnion::fault::{BlinkCode, BlinkCodeConfig};
/// use trunnion::quantity::{Millis, Period};
///
/// let config = BlinkCodeConfig {
///     on: Millis::millis(200),
///     off: Millis::millis(300),
///     pause: Millis::millis(1_500),
/// };
/// let mut lamp = BlinkCode::new(config, Period::from_micros(100_000).unwrap()).unwrap();
/// let shown: String = (0..18).map(|_| if lamp.step(12) { '#' } else { '.' }).collect();
/// assert_eq!(shown, "######...##...##..");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct BlinkCode {
    limits: Limits,
    period: Period,
    phase: Phase,
    /// Blinks that are still to come after the present one.
    long_left: u8,
    short_left: u8,
}

impl BlinkCode {
    /// Refuses blinks outside 50 ms to 2 s and a pause below twice the dark between blinks or above 10 s.
    ///
    /// # Errors
    ///
    /// [`BlinkCodeConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: BlinkCodeConfig, period: Period) -> Result<Self, BlinkCodeConfigError> {
        match Limits::resolve(config, period) {
            Ok(limits) => Ok(Self { limits, period, phase: Phase::Idle, long_left: 0, short_left: 0 }),
            Err(error) => Err(error),
        }
    }

    /// Takes new times as a whole or refuses them as a whole; the present blink or gap ends as it began.
    ///
    /// # Errors
    ///
    /// [`BlinkCodeConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: BlinkCodeConfig) -> Result<(), BlinkCodeConfigError> {
        self.limits = Limits::resolve(config, self.period)?;
        Ok(())
    }

    /// Dark, ready for a code.
    pub fn reset(&mut self) {
        self.phase = Phase::Idle;
        self.long_left = 0;
        self.short_left = 0;
    }

    /// One step; true while the lamp is lit.
    pub fn step(&mut self, code: u8) -> bool {
        self.phase = match self.phase {
            Phase::Idle => self.begin(code),
            Phase::Lit { left: 0 } if self.long_left == 0 && self.short_left == 0 => {
                Phase::Pause { left: self.limits.pause_steps.saturating_sub(1) }
            }
            Phase::Lit { left: 0 } => Phase::Dark { left: self.limits.off_steps.saturating_sub(1) },
            Phase::Dark { left: 0 } => self.next_blink(),
            Phase::Pause { left: 0 } => self.begin(code),
            Phase::Lit { left } => Phase::Lit { left: left.saturating_sub(1) },
            Phase::Dark { left } => Phase::Dark { left: left.saturating_sub(1) },
            Phase::Pause { left } => Phase::Pause { left: left.saturating_sub(1) },
        };
        matches!(self.phase, Phase::Lit { .. })
    }

    fn begin(&mut self, code: u8) -> Phase {
        let code = code.min(99);
        self.long_left = code / 10;
        self.short_left = code % 10;
        if code == 0 { Phase::Idle } else { self.next_blink() }
    }

    fn next_blink(&mut self) -> Phase {
        let steps = if self.long_left > 0 {
            self.long_left = self.long_left.saturating_sub(1);
            self.limits.long_steps
        } else {
            self.short_left = self.short_left.saturating_sub(1);
            self.limits.short_steps
        };
        Phase::Lit { left: steps.saturating_sub(1) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;
    use std::vec::Vec;

    fn config() -> BlinkCodeConfig {
        BlinkCodeConfig { on: Millis::millis(200), off: Millis::millis(300), pause: Millis::millis(1_500) }
    }

    fn lamp() -> BlinkCode {
        BlinkCode::new(config(), Period::from_micros(10_000).unwrap()).unwrap()
    }

    /// Reads the lamp as a person with a stopwatch would: lengths of light and dark, then codes between
    /// pauses. Light of 0.2 s is a unit, of 0.6 s a ten.
    fn read(lit: &[bool]) -> Vec<u8> {
        let mut codes = Vec::new();
        let mut code = 0;
        for run in lit.chunk_by(|a, b| a == b) {
            match (run[0], run.len()) {
                (true, 20) => code += 1,
                (true, 60) => {
                    assert_eq!(code % 10, 0, "tens come first");
                    code += 10;
                }
                (false, 30) => {}
                (false, 150..) => {
                    codes.push(code);
                    code = 0;
                }
                other => panic!("a run of {other:?} means nothing"),
            }
        }
        codes
    }

    #[test]
    fn every_code_reads_back() {
        for code in 1..=99 {
            let mut lamp = lamp();
            let one_round = 18 * 110 + 150;
            let mut lit: Vec<bool> = (0..one_round).map(|_| lamp.step(code)).collect();
            lit.extend((0..one_round + 150).map(|_| lamp.step(0)));
            let codes = read(&lit);
            assert!(
                !codes.is_empty() && codes.iter().all(|seen| *seen == code),
                "{code} was shown as {codes:?}"
            );
        }
    }

    #[test]
    fn no_code_is_dark_and_a_code_above_two_digits_is_shown_as_ninety_nine() {
        let mut dark = lamp();
        assert!((0..1_000).all(|_| !dark.step(0)));
        let (mut high, mut highest) = (lamp(), lamp());
        assert!((0..5_000).all(|_| high.step(200) == highest.step(99)));
        high.reset();
        assert!(!high.step(0));
    }

    #[test]
    fn each_broken_rule_is_refused_by_name_and_changes_nothing() {
        let mut lamp = lamp();
        let good = config();
        for (config, message) in [
            (BlinkCodeConfig { on: Millis::millis(49), ..good }, "on is 49 ms; it must be 50 ms to 2000 ms"),
            (
                BlinkCodeConfig { off: Millis::millis(2_001), ..good },
                "off is 2001 ms; it must be 50 ms to 2000 ms",
            ),
            (
                BlinkCodeConfig { pause: Millis::millis(599), ..good },
                "pause is 599 ms; it must be 600 ms to 10000 ms",
            ),
            (
                BlinkCodeConfig { pause: Millis::millis(10_001), ..good },
                "pause is 10001 ms; it must be 600 ms to 10000 ms",
            ),
        ] {
            assert_eq!(lamp.reconfigure(config).unwrap_err().to_string(), message);
            assert_eq!(
                (lamp.limits.short_steps, lamp.limits.off_steps, lamp.limits.pause_steps),
                (20, 30, 150)
            );
        }
    }

    proptest! {
        #[test]
        fn a_code_that_changes_half_way_is_never_mixed_with_the_next(codes in proptest::collection::vec((1_u8..=99, 1_usize..900), 1..8)) {
            let mut lamp = lamp();
            let mut lit = Vec::new();
            for (code, steps) in &codes {
                lit.extend((0..*steps).map(|_| lamp.step(*code)));
            }
            lit.extend((0..18 * 110 + 400).map(|_| lamp.step(0)));
            for shown in read(&lit) {
                prop_assert!(codes.iter().any(|(code, _)| *code == shown), "{} was never asked for", shown);
            }
        }
    }

    four_verbs! {
        new: |config| BlinkCode::new(config, Period::from_micros(10_000).unwrap()),
        configs: (config(), BlinkCodeConfig { on: Millis::millis(100), off: Millis::millis(150), pause: Millis::millis(800) }),
        accepted: [
            BlinkCodeConfig { on: Millis::millis(50), ..config() },
            BlinkCodeConfig { on: Millis::millis(2000), ..config() },
            BlinkCodeConfig { off: Millis::millis(50), ..config() },
            BlinkCodeConfig { off: Millis::millis(2000), pause: Millis::millis(4000), ..config() },
            BlinkCodeConfig { pause: Millis::millis(600), ..config() },
            BlinkCodeConfig { pause: Millis::millis(10000), ..config() },
        ],
        refused: [
            BlinkCodeConfig { on: Millis::millis(49), ..config() } => "on is 49 ms; it must be 50 ms to 2000 ms",
            BlinkCodeConfig { on: Millis::millis(2001), ..config() } => "on is 2001 ms; it must be 50 ms to 2000 ms",
            BlinkCodeConfig { off: Millis::millis(49), ..config() } => "off is 49 ms; it must be 50 ms to 2000 ms",
            BlinkCodeConfig { off: Millis::millis(2001), ..config() } => "off is 2001 ms; it must be 50 ms to 2000 ms",
            BlinkCodeConfig { pause: Millis::millis(599), ..config() } => "pause is 599 ms; it must be 600 ms to 10000 ms",
            BlinkCodeConfig { pause: Millis::millis(10001), ..config() } => "pause is 10001 ms; it must be 600 ms to 10000 ms",
        ],
        inputs: 0_u8..40,
        step: |block, code| block.step(code),
        reset: |block| block.reset(),
    }
}
