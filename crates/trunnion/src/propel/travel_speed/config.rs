//! Values of the speed loop and what is refused.

use core::fmt;

use crate::quantity::{Millis, Permille, Rpm};

/// Values of a [`TravelSpeed`](super::TravelSpeed).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct TravelSpeedConfig {
    /// Speed of the drive motors at full command on the level, 8 to 16 000 rpm.
    pub full_speed: Rpm,
    /// Share of full command for an error of full speed, 0 to 1000 ‰.
    pub gain: Permille,
    /// Time in which a constant error adds as much to the command as the error is, 100 ms to 60 s.
    pub integral_time: Millis,
    /// Most that the sum may add or take, 10 to 1000 ‰ of full command.
    pub authority: Permille,
}

/// Why a [`TravelSpeedConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TravelSpeedConfigError {
    /// The speed at full command is outside 8 to 16 000 rpm.
    FullSpeed(Rpm),
    /// The gain is below zero.
    Gain(Permille),
    /// The integral time is outside 100 ms to 60 s.
    IntegralTime(Millis),
    /// The authority of the sum is outside 10 to 1000 ‰.
    Authority(Permille),
}

impl fmt::Display for TravelSpeedConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::FullSpeed(given) => {
                write!(formatter, "speed at full command of {}/8 rpm: set 8 rpm to 16000 rpm", given.raw())
            }
            Self::Gain(given) => write!(formatter, "gain of {} ‰: set 0 ‰ to 1000 ‰", given.raw()),
            Self::IntegralTime(given) => {
                write!(formatter, "integral time of {given}: set {SHORTEST_INTEGRAL} to {LONGEST_INTEGRAL}")
            }
            Self::Authority(given) => {
                write!(formatter, "authority of the sum of {} ‰: set 10 ‰ to 1000 ‰", given.raw())
            }
        }
    }
}

impl core::error::Error for TravelSpeedConfigError {}

const SHORTEST_INTEGRAL: Millis = Millis::millis(100);
const LONGEST_INTEGRAL: Millis = Millis::millis(60_000);

impl TravelSpeedConfig {
    pub(super) const fn check(&self) -> Result<(), TravelSpeedConfigError> {
        let Self { full_speed, gain, integral_time, authority } = *self;
        if full_speed.raw() < Rpm::from_whole(8).raw() || full_speed.raw() > Rpm::from_whole(16_000).raw() {
            return Err(TravelSpeedConfigError::FullSpeed(full_speed));
        }
        if gain.raw() < 0 {
            return Err(TravelSpeedConfigError::Gain(gain));
        }
        if integral_time.ticks() < SHORTEST_INTEGRAL.ticks()
            || integral_time.ticks() > LONGEST_INTEGRAL.ticks()
        {
            return Err(TravelSpeedConfigError::IntegralTime(integral_time));
        }
        if authority.raw() < 10 {
            return Err(TravelSpeedConfigError::Authority(authority));
        }
        Ok(())
    }
}
