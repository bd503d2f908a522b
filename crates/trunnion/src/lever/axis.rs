//! The response of a lever axis.

use crate::quantity::{Permille, Ratio};

/// Response of an [`Axis`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct AxisConfig {
    /// Up to this deflection there is no intent, 0 to 400 ‰.
    pub deadband: Permille,
    /// From this deflection on the intent is full, 500 to 1000 ‰.
    pub saturation: Permille,
    /// 0 ‰ is a straight line; 1000 ‰ is a cubic, fine near neutral and steep near the end.
    pub progression: Permille,
}

/// Why an [`AxisConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum AxisConfigError {
    /// `deadband` is outside its range.
    DeadbandOutOfRange {
        /// What was asked for.
        value: Permille,
        /// The least that is allowed.
        least: Permille,
        /// The most that is allowed.
        most: Permille,
    },
    /// `saturation` is outside its range.
    SaturationOutOfRange {
        /// What was asked for.
        value: Permille,
        /// The least that is allowed.
        least: Permille,
        /// The most that is allowed.
        most: Permille,
    },
    /// `progression` is outside its range.
    ProgressionOutOfRange {
        /// What was asked for.
        value: Permille,
        /// The least that is allowed.
        least: Permille,
        /// The most that is allowed.
        most: Permille,
    },
}

impl core::fmt::Display for AxisConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let (name, value, least, most) = match self {
            Self::DeadbandOutOfRange { value, least, most } => ("deadband", value, least, most),
            Self::SaturationOutOfRange { value, least, most } => ("saturation", value, least, most),
            Self::ProgressionOutOfRange { value, least, most } => ("progression", value, least, most),
        };
        write!(formatter, "{name} is {} ‰; it must be {} to {} ‰", value.raw(), least.raw(), most.raw())
    }
}

impl core::error::Error for AxisConfigError {}

const LARGEST_DEADBAND: Permille = Permille::saturating(400);
const SMALLEST_SATURATION: Permille = Permille::saturating(500);

/// Turns the position of a lever axis into an intent.
///
/// No intent inside the deadband; from its edge the intent grows from zero without a jump, and is full at
/// `saturation`. In between it is `(1 − p) · x + p · x³`, with x the share of the travel and p the
/// progression. Monotone, the same to both sides bit for bit, never outside -1 to 1; rounds to nearest.
/// The slope is at most `1000 · (1 + 2 p) / (saturation − deadband)`.
///
/// ```
/// use trunnion::lever::{Axis, AxisConfig};
/// use trunnion::quantity::{Permille, Ratio};
///
/// let drive = Axis::new(AxisConfig {
///     deadband: Permille::new(80).unwrap(),
///     saturation: Permille::new(980).unwrap(),
///     progression: Permille::new(300).unwrap(),
/// })
/// .unwrap();
/// let at = |permille| drive.step(Ratio::from_permille(permille).unwrap());
/// assert_eq!(at(80), Ratio::ZERO);
/// assert_eq!(at(530).to_permille(), Permille::new(388).unwrap()); // 0.7 · 0.5 + 0.3 · 0.5³
/// assert_eq!(at(-985), Ratio::MINUS_ONE);
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Axis {
    deadband: Ratio,
    /// Travel between deadband and saturation.
    travel: Ratio,
    progression: Ratio,
}

impl Axis {
    /// Refuses a deadband above 400 ‰, a saturation below 500 ‰ and a progression below zero.
    pub const fn new(config: AxisConfig) -> Result<Self, AxisConfigError> {
        use AxisConfigError::*;
        let AxisConfig { deadband, saturation, progression } = config;
        if deadband.raw() < 0 || deadband.raw() > LARGEST_DEADBAND.raw() {
            return Err(DeadbandOutOfRange {
                value: deadband,
                least: Permille::ZERO,
                most: LARGEST_DEADBAND,
            });
        }
        if saturation.raw() < SMALLEST_SATURATION.raw() {
            return Err(SaturationOutOfRange {
                value: saturation,
                least: SMALLEST_SATURATION,
                most: Permille::MAX,
            });
        }
        if progression.raw() < 0 {
            return Err(ProgressionOutOfRange {
                value: progression,
                least: Permille::ZERO,
                most: Permille::MAX,
            });
        }
        let deadband = Ratio::from_quotient(deadband.raw() as i64, 1000);
        let saturation = Ratio::from_quotient(saturation.raw() as i64, 1000);
        let progression = Ratio::from_quotient(progression.raw() as i64, 1000);
        Ok(Self { deadband, travel: saturation.minus(deadband), progression })
    }

    /// Takes a new response as a whole or refuses it as a whole.
    pub fn reconfigure(&mut self, config: AxisConfig) -> Result<(), AxisConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The intent at a position.
    pub const fn step(&self, position: Ratio) -> Ratio {
        let beyond = position.magnitude().minus(self.deadband).at_least(Ratio::ZERO);
        let share = beyond.divided_by(self.travel);
        let cubic = share.times(share).times(share);
        let straight = Ratio::ONE.minus(self.progression);
        share.times(straight).plus(cubic.times(self.progression)).directed_as(position)
    }
}
