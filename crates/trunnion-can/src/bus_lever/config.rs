//! What lever it is: its config and what it must hold.

use trunnion::quantity::{Millis, Permille};

use crate::MessageTimingError;
use crate::arrivals::Timing;

/// Which axis of the Extended Joystick Message is the lever's rocker or thumb-wheel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum WheelAxis {
    /// Grip X.
    GripX,
    /// Grip Y.
    GripY,
    /// Twist.
    Theta,
}

/// What lever it is, and how often it sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BusLeverConfig {
    /// Time between two frames of either message, 10 to 150 ms. The time-out is three of them, at most
    /// 300 ms.
    pub period: Millis,
    /// How long after start the lever may be missing, at most 60 s; 2 s is common practice.
    pub start_up: Millis,
    /// Largest deflection that the neutral flag may come with, 0 to 200 ‰.
    pub neutral_band: Permille,
    /// Frames ahead of the declared rate, more than which mean a second sender, 2 to 10.
    pub most_frames: u8,
    /// Which grip axis is the wheel.
    pub wheel: WheelAxis,
    /// The buttons that the lever has, bit 0 for button 1: these must be valid in a valid frame.
    pub fitted_buttons: u16,
}

/// Why a [`BusLeverConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BusLeverConfigError {
    /// `period`, `start_up` or `most_frames` is outside its range.
    Timing(MessageTimingError),
    /// `neutral_band` is outside its range.
    NeutralBandOutOfRange {
        /// What was asked for.
        value: Permille,
        /// The least that is allowed.
        least: Permille,
        /// The most that is allowed.
        most: Permille,
    },
    /// `fitted_buttons` names a button above 12.
    NoSuchButton {
        /// What was asked for.
        value: u16,
        /// All that can be asked for.
        all: u16,
    },
}

impl core::fmt::Display for BusLeverConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Timing(error) => error.fmt(formatter),
            Self::NeutralBandOutOfRange { value, least, most } => write!(
                formatter,
                "neutral_band is {} ‰; it must be {} to {} ‰",
                value.raw(),
                least.raw(),
                most.raw()
            ),
            Self::NoSuchButton { value, all } => {
                write!(formatter, "fitted_buttons is {value:#06X}; a lever has twelve: bits of {all:#06X}")
            }
        }
    }
}

impl core::error::Error for BusLeverConfigError {}

#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub(super) struct Fitted {
    pub(super) neutral_band: Permille,
    pub(super) wheel: WheelAxis,
    /// The lower bit of each fitted button's field in bytes 6 to 8.
    pub(super) buttons: u32,
}

const LARGEST_NEUTRAL_BAND: Permille = Permille::saturating(200);
const ALL_BUTTONS: u16 = (1 << 12) - 1;

/// The lower bits of the fields of these buttons; button 1 has the highest field.
pub(super) const fn fields(buttons: u16) -> u32 {
    let (mut fields, mut left, mut places) = (0_u32, buttons, ALL_BUTTONS);
    while places != 0 {
        fields = fields.wrapping_shl(2) | (left & 1) as u32;
        left >>= 1;
        places >>= 1;
    }
    fields
}

impl BusLeverConfig {
    pub(super) const fn timing(&self) -> Timing {
        Timing { period: self.period, start_up: self.start_up, most_frames: self.most_frames }
    }

    pub(super) const fn fitted(&self) -> Result<Fitted, BusLeverConfigError> {
        let neutral_band = self.neutral_band;
        if neutral_band.raw() < 0 || neutral_band.raw() > LARGEST_NEUTRAL_BAND.raw() {
            return Err(BusLeverConfigError::NeutralBandOutOfRange {
                value: neutral_band,
                least: Permille::ZERO,
                most: LARGEST_NEUTRAL_BAND,
            });
        }
        if self.fitted_buttons > ALL_BUTTONS {
            return Err(BusLeverConfigError::NoSuchButton { value: self.fitted_buttons, all: ALL_BUTTONS });
        }
        Ok(Fitted { neutral_band, wheel: self.wheel, buttons: fields(self.fitted_buttons) })
    }
}
