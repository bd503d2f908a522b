//! The speed range of two-speed motors.

use core::fmt;

use crate::quantity::{Millis, Period, Permille, Ratio};

/// Rules of a [`TwoSpeed`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct TwoSpeedConfig {
    /// Largest turning (half the difference of the sides) with which it shifts up, 20 to 1000 ‰.
    pub up_below_turning: Permille,
    /// Largest speed (mean of the sides) with which it shifts down, 20 to 1000 ‰.
    pub down_below_speed: Permille,
    /// Shortest time in a range, 100 ms to 10 s.
    pub dwell: Millis,
}

/// Why a [`TwoSpeedConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TwoSpeedConfigError {
    /// The turning is outside 20 to 1000 ‰.
    UpBelowTurning(Permille),
    /// The speed is outside 20 to 1000 ‰.
    DownBelowSpeed(Permille),
    /// The time is outside 100 ms to 10 s.
    Dwell(Millis),
}

impl fmt::Display for TwoSpeedConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UpBelowTurning(given) => {
                write!(formatter, "shift up below a turning of {} ‰: set 20 ‰ to 1000 ‰", given.raw())
            }
            Self::DownBelowSpeed(given) => {
                write!(formatter, "shift down below a speed of {} ‰: set 20 ‰ to 1000 ‰", given.raw())
            }
            Self::Dwell(given) => write!(
                formatter,
                "{given} in a range: set {} to {}",
                TwoSpeed::SHORTEST_DWELL,
                TwoSpeed::LONGEST_DWELL
            ),
        }
    }
}

impl core::error::Error for TwoSpeedConfigError {}

/// What a [`TwoSpeed`] looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TwoSpeedInputs {
    /// The operator wants the high range.
    pub request: bool,
    /// The drive is permitted.
    pub permitted: bool,
    /// Half the difference of the sides; its sign does not matter.
    pub turning: Ratio,
    /// Mean of the sides; its sign does not matter.
    pub speed: Ratio,
}

crate::choices! {
    /// Why the range is not the one that is wanted.
    pub enum TwoSpeedInhibit {
        /// It is.
        Nothing = "nothing",
        /// The drive is not permitted.
        NotPermitted = "not_permitted",
        /// The machine turns too much to shift up.
        Turning = "turning",
        /// The machine is too fast to shift down.
        TooFast = "too_fast",
        /// The last shift was a moment ago.
        Dwell = "dwell",
    }
}

/// Shifts between the low and the high range of two-speed motors.
///
/// Up on request, while permitted and not turning; down when no longer requested or permitted, but only below a speed,
/// where the shift does not brake hard. Between two shifts at least the dwell passes; at construction and after `reset`
/// the range is low and a shift is free.
///
#[doc = include_str!("../../docs/propel-two_speed.svg")]
///
/// ```
/// use trunnion::propel::{TwoSpeed, TwoSpeedConfig, TwoSpeedInhibit, TwoSpeedInputs};
/// use trunnion::quantity::{Millis, Period, Permille, Ratio};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = TwoSpeedConfig {
///     up_below_turning: Permille::new(150).unwrap(),
///     down_below_speed: Permille::new(400).unwrap(),
///     dwell: Millis::millis(500),
/// };
/// let mut range = TwoSpeed::new(config, TICK).unwrap();
/// let wanted = TwoSpeedInputs { request: true, permitted: true, ..Default::default() };
///
/// assert!(!range.step(TwoSpeedInputs { turning: Ratio::ONE, ..wanted }));
/// assert_eq!(range.why_inhibited(), TwoSpeedInhibit::Turning);
/// assert!(range.step(wanted));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct TwoSpeed {
    up_below_turning: Ratio,
    down_below_speed: Ratio,
    dwell: u32,
    period: Period,
    until_next_shift: u32,
    high: bool,
    inhibit: TwoSpeedInhibit,
}

impl TwoSpeed {
    /// Shortest time in a range.
    pub const SHORTEST_DWELL: Millis = Millis::millis(100);
    /// Longest time in a range.
    pub const LONGEST_DWELL: Millis = Millis::millis(10_000);

    /// In the low range. Refuses values outside their range.
    ///
    /// # Errors
    ///
    /// [`TwoSpeedConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: TwoSpeedConfig, period: Period) -> Result<Self, TwoSpeedConfigError> {
        let TwoSpeedConfig { up_below_turning, down_below_speed, dwell } = config;
        if up_below_turning.raw() < 20 {
            return Err(TwoSpeedConfigError::UpBelowTurning(up_below_turning));
        }
        if down_below_speed.raw() < 20 {
            return Err(TwoSpeedConfigError::DownBelowSpeed(down_below_speed));
        }
        if dwell.ticks() < Self::SHORTEST_DWELL.ticks() || dwell.ticks() > Self::LONGEST_DWELL.ticks() {
            return Err(TwoSpeedConfigError::Dwell(dwell));
        }
        Ok(Self {
            up_below_turning: Ratio::from_quotient(up_below_turning.raw() as i64, 1000),
            down_below_speed: Ratio::from_quotient(down_below_speed.raw() as i64, 1000),
            dwell: period.steps(dwell),
            period,
            until_next_shift: 0,
            high: false,
            inhibit: TwoSpeedInhibit::Nothing,
        })
    }

    /// Other rules; the range stays, and a dwell under way is at most the new one.
    ///
    /// # Errors
    ///
    /// [`TwoSpeedConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: TwoSpeedConfig) -> Result<(), TwoSpeedConfigError> {
        let new = Self::new(config, self.period)?;
        let until_next_shift = self.until_next_shift.min(new.dwell);
        *self = Self { until_next_shift, high: self.high, inhibit: self.inhibit, ..new };
        Ok(())
    }

    /// To the low range at once.
    pub fn reset(&mut self) {
        self.until_next_shift = 0;
        self.high = false;
        self.inhibit = TwoSpeedInhibit::Nothing;
    }

    /// One period: true for the high range.
    pub fn step(&mut self, inputs: TwoSpeedInputs) -> bool {
        let wanted = inputs.request && inputs.permitted;
        let obstacle = self.obstacle(inputs, wanted);
        self.until_next_shift = self.until_next_shift.saturating_sub(1);
        if wanted != self.high && obstacle == TwoSpeedInhibit::Nothing {
            self.high = wanted;
            self.until_next_shift = self.dwell;
        }
        self.inhibit = match obstacle {
            TwoSpeedInhibit::Nothing if inputs.request && !inputs.permitted => TwoSpeedInhibit::NotPermitted,
            _ => obstacle,
        };
        self.high
    }

    /// True in the high range.
    pub const fn is_high(&self) -> bool {
        self.high
    }

    /// Why the range of the last step is not the requested one.
    pub const fn why_inhibited(&self) -> TwoSpeedInhibit {
        self.inhibit
    }

    fn obstacle(&self, inputs: TwoSpeedInputs, wanted: bool) -> TwoSpeedInhibit {
        if wanted == self.high {
            TwoSpeedInhibit::Nothing
        } else if wanted && inputs.turning.magnitude() > self.up_below_turning {
            TwoSpeedInhibit::Turning
        } else if !wanted && inputs.speed.magnitude() > self.down_below_speed {
            TwoSpeedInhibit::TooFast
        } else if self.until_next_shift > 1 {
            TwoSpeedInhibit::Dwell
        } else {
            TwoSpeedInhibit::Nothing
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: TwoSpeedConfig = TwoSpeedConfig {
        up_below_turning: Permille::new(150).unwrap(),
        down_below_speed: Permille::new(400).unwrap(),
        dwell: Millis::millis(500),
    };

    fn inputs() -> impl Strategy<Value = TwoSpeedInputs> {
        (any::<bool>(), prop::bool::weighted(0.9), -1000i32..=1000, -1000i32..=1000).prop_map(
            |(request, permitted, turning, speed)| TwoSpeedInputs {
                request,
                permitted,
                turning: Ratio::from_permille(turning).unwrap(),
                speed: Ratio::from_permille(speed).unwrap(),
            },
        )
    }

    fn stream() -> impl Strategy<Value = Vec<(TwoSpeedInputs, usize)>> {
        proptest::collection::vec((inputs(), 1usize..40), 1..20)
    }

    proptest! {
        #[test]
        fn it_shifts_only_as_allowed_and_not_before_the_dwell(stream in stream()) {
            let mut range = TwoSpeed::new(CONFIG, TICK).unwrap();
            let mut since_shift = u32::MAX;
            for (inputs, ticks) in stream {
                for _ in 0..ticks {
                    let before = range.is_high();
                    let after = range.step(inputs);
                    since_shift = since_shift.saturating_add(1);
                    if after && !before {
                        prop_assert!(inputs.request && inputs.permitted);
                        prop_assert!(inputs.turning.magnitude() <= CONFIG.up_below_turning.into());
                    }
                    if before && !after {
                        prop_assert!(!(inputs.request && inputs.permitted));
                        prop_assert!(inputs.speed.magnitude() <= CONFIG.down_below_speed.into());
                    }
                    if before != after {
                        prop_assert!(since_shift >= TICK.steps(CONFIG.dwell), "{} ticks after a shift", since_shift);
                        since_shift = 0;
                    }
                }
            }
        }

        #[test]
        fn whenever_the_range_is_not_the_wanted_one_it_says_why(stream in stream()) {
            let mut range = TwoSpeed::new(CONFIG, TICK).unwrap();
            for (inputs, ticks) in stream {
                for _ in 0..ticks {
                    let high = range.step(inputs);
                    let as_wanted = high == (inputs.request && inputs.permitted);
                    let silent = range.why_inhibited() == TwoSpeedInhibit::Nothing;
                    prop_assert_eq!(silent, as_wanted && (high == inputs.request));
                }
            }
        }
    }

    #[test]
    fn it_shifts_exactly_at_its_limits_and_at_the_end_of_the_dwell() {
        let mut range = TwoSpeed::new(CONFIG, TICK).unwrap();
        let up = TwoSpeedInputs { request: true, permitted: true, ..Default::default() };
        assert!(range.step(TwoSpeedInputs { turning: CONFIG.up_below_turning.into(), ..up }));
        let down = TwoSpeedInputs { request: false, speed: CONFIG.down_below_speed.into(), ..up };
        let steps = (1..1_000).find(|_| !range.step(down));
        assert_eq!(steps, Some(TICK.steps(CONFIG.dwell)));
    }

    #[test]
    fn why_it_did_not_shift_stays_told_when_its_rules_change() {
        let mut range = TwoSpeed::new(CONFIG, TICK).unwrap();
        range.step(TwoSpeedInputs { request: true, ..Default::default() });
        range.reconfigure(TwoSpeedConfig { dwell: Millis::millis(200), ..CONFIG }).unwrap();
        assert_eq!(range.why_inhibited(), TwoSpeedInhibit::NotPermitted);
    }

    #[test]
    fn each_inhibit_is_named() {
        let mut range = TwoSpeed::new(CONFIG, TICK).unwrap();
        let wanted = TwoSpeedInputs { request: true, permitted: true, ..Default::default() };
        let mut why = |inputs| {
            range.step(inputs);
            range.why_inhibited()
        };
        assert_eq!(why(TwoSpeedInputs { permitted: false, ..wanted }), TwoSpeedInhibit::NotPermitted);
        assert_eq!(why(TwoSpeedInputs { turning: Ratio::MINUS_ONE, ..wanted }), TwoSpeedInhibit::Turning);
        assert_eq!(why(wanted), TwoSpeedInhibit::Nothing);
        let slower = TwoSpeedInputs { request: false, ..wanted };
        assert_eq!(why(TwoSpeedInputs { speed: Ratio::MINUS_ONE, ..slower }), TwoSpeedInhibit::TooFast);
        assert_eq!(why(slower), TwoSpeedInhibit::Dwell);
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let dwell = Millis::millis(99);
        let error = TwoSpeed::new(TwoSpeedConfig { dwell, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(error, TwoSpeedConfigError::Dwell(dwell));
        assert_eq!(std::format!("{error}"), "99 ms in a range: set 100 ms to 10000 ms");
        let up_below_turning = Permille::new(19).unwrap();
        let error = TwoSpeed::new(TwoSpeedConfig { up_below_turning, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(error, TwoSpeedConfigError::UpBelowTurning(up_below_turning));
    }

    four_verbs! {
        new: |config| TwoSpeed::new(config, TICK),
        configs: (CONFIG, TwoSpeedConfig { up_below_turning: Permille::new(400).unwrap(), down_below_speed: Permille::new(800).unwrap(), dwell: Millis::millis(200) }),
        accepted: [
            TwoSpeedConfig { up_below_turning: Permille::new(20).unwrap(), ..CONFIG },
            TwoSpeedConfig { up_below_turning: Permille::new(1000).unwrap(), ..CONFIG },
            TwoSpeedConfig { down_below_speed: Permille::new(20).unwrap(), ..CONFIG },
            TwoSpeedConfig { down_below_speed: Permille::new(1000).unwrap(), ..CONFIG },
            TwoSpeedConfig { dwell: Millis::millis(100), ..CONFIG },
            TwoSpeedConfig { dwell: Millis::millis(10000), ..CONFIG },
        ],
        refused: [
            TwoSpeedConfig { up_below_turning: Permille::new(19).unwrap(), ..CONFIG } => "shift up below a turning of 19 ‰: set 20 ‰ to 1000 ‰",
            TwoSpeedConfig { down_below_speed: Permille::new(19).unwrap(), ..CONFIG } => "shift down below a speed of 19 ‰: set 20 ‰ to 1000 ‰",
            TwoSpeedConfig { dwell: Millis::millis(99), ..CONFIG } => "99 ms in a range: set 100 ms to 10000 ms",
            TwoSpeedConfig { dwell: Millis::millis(10001), ..CONFIG } => "10001 ms in a range: set 100 ms to 10000 ms",
        ],
        inputs: inputs(),
        step: |block, inputs| (block.step(inputs), block.is_high(), block.why_inhibited()),
        reset: |block| block.reset(),
    }
}
