//! What the engine is asked for.

use core::fmt;

use crate::quantity::{Millis, Period, Ratio, Rpm};
use crate::sense::Reading;

/// Speeds and times of an [`EngineSpeedRequest`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct EngineSpeedRequestConfig {
    /// Low idle, 300 to 2000 rpm.
    pub low_idle: Rpm,
    /// High idle, above low idle up to 8000 rpm.
    pub high_idle: Rpm,
    /// Time from low to high idle, 10 ms to 30 s.
    pub rise: Millis,
    /// Time from high to low idle, 10 ms to 30 s.
    pub fall: Millis,
}

/// Why an [`EngineSpeedRequestConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum EngineSpeedRequestConfigError {
    /// Low idle is outside 300 to 2000 rpm.
    LowIdle(Rpm),
    /// High idle is not above low idle, or above 8000 rpm.
    HighIdle(Rpm),
    /// The time to rise is outside 10 ms to 30 s.
    Rise(Millis),
    /// The time to fall is outside 10 ms to 30 s.
    Fall(Millis),
}

impl fmt::Display for EngineSpeedRequestConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (shortest, longest) = (EngineSpeedRequest::SHORTEST_TIME, EngineSpeedRequest::LONGEST_TIME);
        match self {
            Self::LowIdle(given) => {
                write!(formatter, "low idle of {}/8 rpm: set 300 to 2000 rpm", given.raw())
            }
            Self::HighIdle(given) => {
                write!(formatter, "high idle of {}/8 rpm: set it above low idle, up to 8000 rpm", given.raw())
            }
            Self::Rise(given) => {
                write!(formatter, "low to high idle in {given}: set {shortest} to {longest}")
            }
            Self::Fall(given) => {
                write!(formatter, "high to low idle in {given}: set {shortest} to {longest}")
            }
        }
    }
}

impl core::error::Error for EngineSpeedRequestConfigError {}

/// What an [`EngineSpeedRequest`] looks at. Shares run from 0, low idle, to 1, high idle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct EngineSpeedInputs {
    /// Hand throttle.
    pub hand: Reading<Ratio>,
    /// Accelerator pedal.
    pub foot: Reading<Ratio>,
    /// What the machine needs at least: warming up, charging, a working function.
    pub least: Ratio,
    /// What the machine allows at most: an empty seat, hot coolant, a crane in stow. Stronger than `least`.
    pub most: Ratio,
}

/// The engine speed to ask the engine controller for: the highest of hand and foot, within what the machine needs and
/// allows, and no faster up and down than the engine and the ears like it.
///
/// A throttle without a valid reading asks for nothing, the other goes on; without both it is low idle, or `least`. The
/// request moves at most from low to high idle in `rise` and back in `fall`, never passes what is asked, and is always
/// between low and high idle. Shares outside 0 to 1 count as the end. Rounds to the nearest eighth of a revolution a
/// minute, ties away from zero; the time of a full way is short by at most one period.
///
#[doc = include_str!("../../docs/propel-engine_speed_request.svg")]
///
/// ```
/// use trunnion::propel::{EngineSpeedInputs, EngineSpeedRequest, EngineSpeedRequestConfig};
/// use trunnion::quantity::{Millis, Period, Ratio, Rpm};
/// use trunnion::sense::{Flaw, Reading};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = EngineSpeedRequestConfig {
///     low_idle: Rpm::from_whole(900),
///     high_idle: Rpm::from_whole(2_400),
///     rise: Millis::millis(1_000),
///     fall: Millis::millis(2_000),
/// };
/// let mut engine = EngineSpeedRequest::new(config, TICK).unwrap();
/// let share = |permille| Reading::Valid(Ratio::from_permille(permille).unwrap());
/// let pedal =
///     EngineSpeedInputs { hand: share(200), foot: share(600), least: Ratio::ZERO, most: Ratio::ONE };
/// for _ in 0..60 {
///     engine.step(pedal);
/// }
/// assert_eq!(engine.output(), Rpm::from_whole(1_800)); // the pedal: 60 % of the way
/// for _ in 0..80 {
///     engine.step(EngineSpeedInputs { foot: Reading::Faulted(Flaw::WireBreak), ..pedal });
/// }
/// assert_eq!(engine.output(), Rpm::from_whole(1_200)); // the hand throttle is left
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct EngineSpeedRequest {
    low_idle: Rpm,
    width: Rpm,
    rise: Ratio,
    fall: Ratio,
    period: Period,
    share: Ratio,
}

impl EngineSpeedRequest {
    /// Shortest time from idle to idle.
    pub const SHORTEST_TIME: Millis = Millis::millis(10);
    /// Longest time from idle to idle.
    pub const LONGEST_TIME: Millis = Millis::millis(30_000);
    const LOWEST: Rpm = Rpm::from_whole(300);
    const HIGHEST_LOW_IDLE: Rpm = Rpm::from_whole(2_000);
    const HIGHEST: Rpm = Rpm::from_whole(8_000);

    /// At low idle. Refuses speeds and times outside their range.
    ///
    /// # Errors
    ///
    /// [`EngineSpeedRequestConfigError`]: which rule the config breaks, with its value.
    pub const fn new(
        config: EngineSpeedRequestConfig,
        period: Period,
    ) -> Result<Self, EngineSpeedRequestConfigError> {
        let EngineSpeedRequestConfig { low_idle, high_idle, rise, fall } = config;
        if low_idle.raw() < Self::LOWEST.raw() || low_idle.raw() > Self::HIGHEST_LOW_IDLE.raw() {
            return Err(EngineSpeedRequestConfigError::LowIdle(low_idle));
        }
        if high_idle.raw() <= low_idle.raw() || high_idle.raw() > Self::HIGHEST.raw() {
            return Err(EngineSpeedRequestConfigError::HighIdle(high_idle));
        }
        if rise.ticks() < Self::SHORTEST_TIME.ticks() || rise.ticks() > Self::LONGEST_TIME.ticks() {
            return Err(EngineSpeedRequestConfigError::Rise(rise));
        }
        if fall.ticks() < Self::SHORTEST_TIME.ticks() || fall.ticks() > Self::LONGEST_TIME.ticks() {
            return Err(EngineSpeedRequestConfigError::Fall(fall));
        }
        Ok(Self {
            low_idle,
            width: high_idle.minus(low_idle),
            rise: period.share_of(rise),
            fall: period.share_of(fall),
            period,
            share: Ratio::ZERO,
        })
    }

    /// Other speeds and times; the share of the way stays, and with it the place between the idles.
    ///
    /// # Errors
    ///
    /// [`EngineSpeedRequestConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(
        &mut self,
        config: EngineSpeedRequestConfig,
    ) -> Result<(), EngineSpeedRequestConfigError> {
        let share = self.share;
        *self = Self { share, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// Low idle at once.
    pub fn reset(&mut self) {
        self.share = Ratio::ZERO;
    }

    /// One period of the way to what is asked.
    pub fn step(&mut self, inputs: EngineSpeedInputs) -> Rpm {
        let throttle = inputs.hand.or(Ratio::ZERO).at_least(inputs.foot.or(Ratio::ZERO));
        let asked = throttle.at_least(inputs.least).at_most(inputs.most).at_least(Ratio::ZERO);
        self.share = if asked > self.share {
            self.share.plus(self.rise).at_most(asked)
        } else {
            self.share.minus(self.fall).at_least(asked)
        };
        self.output()
    }

    /// What the last step gave; low idle before the first one.
    pub const fn output(&self) -> Rpm {
        self.low_idle.plus(self.width.scaled(self.share))
    }
}

#[cfg(test)]
mod tests;
