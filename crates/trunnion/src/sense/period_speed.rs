//! Speed from captured periods.

use super::{Flaw, Reading};
use crate::quantity::{Millis, Period, Rpm, SignalPeriod, floor_quotient, product};

/// What turns in front of the pickup of a [`PeriodSpeed`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PeriodSpeedConfig {
    /// Periods captured in one revolution, 1 or more.
    pub teeth: u16,
    /// Time without a period after which the wheel stands, 10 ms to 10 s.
    pub zero_speed_after: Millis,
    /// A period shorter than one tooth at this speed is a glitch. Above 0 rpm; at least 1 µs a tooth.
    pub fastest: Rpm,
    /// How many glitches one behind the other are passed over before the reading is faulted, 0 to 20.
    pub glitches: u8,
}

/// Why a [`PeriodSpeedConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PeriodSpeedConfigError {
    /// `teeth` is zero.
    NoTeeth,
    /// `zero_speed_after` is outside 10 ms to 10 s.
    ZeroSpeedAfter(Millis),
    /// `fastest` is not above zero, or leaves less than 1 µs a tooth.
    Fastest(Rpm),
    /// `glitches` is above 20.
    Glitches(u8),
}

impl core::fmt::Display for PeriodSpeedConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NoTeeth => write!(formatter, "no teeth: set 1 or more"),
            Self::ZeroSpeedAfter(given) => {
                let (least, most) = (PeriodSpeed::SHORTEST_WAIT, PeriodSpeed::LONGEST_WAIT);
                write!(formatter, "standstill after {given} without a period: set {least} to {most}")
            }
            Self::Fastest(given) => write!(
                formatter,
                "fastest speed of {}/8 rpm: set it above 0 rpm, and so that a tooth takes 1 µs or more",
                given.raw()
            ),
            Self::Glitches(given) => {
                write!(formatter, "{given} glitches: set 0 to {}", PeriodSpeed::MOST_GLITCHES)
            }
        }
    }
}

impl core::error::Error for PeriodSpeedConfigError {}

/// Eighths of a revolution a minute of a wheel with one tooth and a period of 0.1 µs: 60 s · 10⁷ · 8.
const ONE_STEP: i64 = 4_800_000_000;

/// Speed from the periods that capture hardware measures: n = 60 / (z · T).
///
/// Takes the period that was captured since the last step, the latest if there were several, or none. Gives eighths of a
/// revolution a minute, rounded to nearest with ties away from zero, without direction. One period tells the speed of one
/// tooth, so a worn wheel shows in it; [`PulseSpeed`](super::PulseSpeed) tells the mean of all teeth that passed.
///
/// A period shorter than one tooth at the fastest speed is a glitch (a spark, a bouncing contact): the reading stays what
/// it was. More than `glitches` of them one behind the other fault the reading as too fast, until a possible period
/// comes. While none comes the speed is bounded by one tooth in the time waited, and after `zero_speed_after` the wheel
/// stands. A broken wire looks like a wheel that stands: compare it with another source
/// ([`SpeedComparison`](super::SpeedComparison)).
///
#[doc = include_str!("../../docs/sense-period_speed.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period, Rpm, SignalPeriod};
/// use trunnion::sense::{PeriodSpeed, PeriodSpeedConfig, Reading};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let config = PeriodSpeedConfig {
///     teeth: 60,
///     zero_speed_after: Millis::millis(500),
///     fastest: Rpm::from_whole(600),
///     glitches: 2,
/// };
/// let mut drum = PeriodSpeed::new(config, tick).unwrap();
/// assert_eq!(drum.step(Some(SignalPeriod::from_micros(5_000))), Reading::Valid(Rpm::from_whole(200)));
/// assert_eq!(drum.step(Some(SignalPeriod::from_micros(80))), Reading::Valid(Rpm::from_whole(200))); // a spark
/// assert_eq!(drum.step(None), Reading::Valid(Rpm::from_whole(50))); // 20 ms and no tooth
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PeriodSpeed {
    config: PeriodSpeedConfig,
    /// [`ONE_STEP`] and the teeth without their common factors: most quotients of them fit 32 bits.
    one_step: u64,
    tooth: u32,
    zero_speed_steps: u32,
    period: Period,
    /// Steps since the last possible period.
    silent: u32,
    glitches: u8,
    reading: Reading<Rpm>,
}

impl PeriodSpeed {
    /// Shortest time to standstill.
    pub const SHORTEST_WAIT: Millis = Millis::millis(10);
    /// Longest time to standstill.
    pub const LONGEST_WAIT: Millis = Millis::millis(10_000);
    /// Most glitches that can be passed over.
    pub const MOST_GLITCHES: u8 = 20;

    /// Standing. Refuses no teeth and values outside their range.
    ///
    /// # Errors
    ///
    /// [`PeriodSpeedConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: PeriodSpeedConfig, period: Period) -> Result<Self, PeriodSpeedConfigError> {
        let PeriodSpeedConfig { teeth, zero_speed_after, fastest, glitches } = config;
        if teeth == 0 {
            return Err(PeriodSpeedConfigError::NoTeeth);
        }
        if zero_speed_after.ticks() < Self::SHORTEST_WAIT.ticks()
            || zero_speed_after.ticks() > Self::LONGEST_WAIT.ticks()
        {
            return Err(PeriodSpeedConfigError::ZeroSpeedAfter(zero_speed_after));
        }
        let teeth_a_minute = (fastest.raw() as i64).wrapping_mul(teeth as i64);
        if fastest.raw() <= 0 || teeth_a_minute > ONE_STEP / 10 {
            return Err(PeriodSpeedConfigError::Fastest(fastest));
        }
        if glitches > Self::MOST_GLITCHES {
            return Err(PeriodSpeedConfigError::Glitches(glitches));
        }
        let factor = common_factor(ONE_STEP.unsigned_abs(), teeth as u64);
        Ok(Self {
            config,
            one_step: floor_quotient(ONE_STEP.unsigned_abs(), factor),
            tooth: floor_quotient(teeth as u64, factor) as u32,
            zero_speed_steps: period.steps(zero_speed_after),
            period,
            silent: 0,
            glitches: 0,
            reading: Reading::Valid(Rpm::ZERO),
        })
    }

    /// Takes a new wheel as a whole or refuses it as a whole; the reading is kept until the next period.
    ///
    /// # Errors
    ///
    /// [`PeriodSpeedConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: PeriodSpeedConfig) -> Result<(), PeriodSpeedConfigError> {
        let Self { silent, glitches, reading, .. } = *self;
        *self = Self { silent, glitches, reading, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// Standing, no glitch seen.
    pub fn reset(&mut self) {
        self.silent = 0;
        self.glitches = 0;
        self.reading = Reading::Valid(Rpm::ZERO);
    }

    /// One step with the period that was captured since the last one.
    pub fn step(&mut self, captured: Option<SignalPeriod>) -> Reading<Rpm> {
        match captured.map(|period| self.speed(period.raw())) {
            Some(Some(speed)) => {
                self.reading = Reading::Valid(speed);
                self.silent = 0;
                self.glitches = 0;
            }
            Some(None) => {
                self.glitches = self.glitches.saturating_add(1);
                if self.glitches > self.config.glitches {
                    self.reading = Reading::Faulted(Flaw::TooFast);
                }
                // The glitch came later than the teeth of this step and hides them: the reading stays.
                self.silent = self.silent.saturating_add(1);
            }
            None => self.wait(),
        }
        self.reading
    }

    /// n = 60 / (z · T) with T in tenths of a microsecond; `None` for a glitch.
    fn speed(&self, period: u32) -> Option<Rpm> {
        if period == 0 {
            return None;
        }
        let turn = product(period, self.tooth);
        // Below 2³³ and half of 2⁴⁸.
        let rounded = self.one_step.wrapping_add(turn / 2);
        let raw = match (u32::try_from(rounded), u32::try_from(turn)) {
            (Ok(rounded), Ok(turn)) => u64::from(rounded.checked_div(turn)?),
            _ => floor_quotient(rounded, turn),
        };
        (raw <= u64::from(self.config.fastest.raw().unsigned_abs()))
            .then(|| Rpm::saturating(raw.cast_signed()))
    }

    fn wait(&mut self) {
        self.silent = self.silent.saturating_add(1);
        let Reading::Valid(speed) = self.reading else {
            return;
        };
        if self.silent >= self.zero_speed_steps {
            self.reading = Reading::Valid(Rpm::ZERO);
            return;
        }
        // Less than the longest wait and one loop period: some 10⁸ tenths of a microsecond.
        let waited = self.silent.wrapping_mul(self.period.micros()).wrapping_mul(10);
        if let Some(bound) = self.speed(waited) {
            self.reading = Reading::Valid(speed.at_most(bound));
        }
    }
}

const fn common_factor(mut one: u64, mut other: u64) -> u64 {
    // Euclid: ends after some 30 rounds, as the smaller is below 2¹⁶ after the first.
    while let Some(rest) = one.checked_rem(other) {
        (one, other) = (other, rest);
    }
    one
}

#[cfg(test)]
mod tests;
