//! From drive and steer to left and right.

use core::fmt;

use super::sides::Sides;
use super::steering::Steering;
use crate::quantity::{Divisor, Permille, Ratio, part};

crate::choices! {
    /// How drive and steer become sides.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum MixLaw {
        /// The common one: the inner side slows, stands over a band, then reverses; spin at exactly zero drive.
        Banded = "banded",
        /// Ours: the same turns at speed, fading into spin as drive goes to zero, with no jump.
        Blended = "blended",
    }
}

crate::choices! {
    /// What steering right means in reverse.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum ReverseConvention {
        /// The tail goes right: yaw turns round with the direction of travel.
        PathFollowing = "path_following",
        /// Clockwise, as in forward.
        YawFixed = "yaw_fixed",
    }
}

/// How a [`Mixer`] mixes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct MixerConfig {
    /// How drive and steer become sides.
    pub law: MixLaw,
    /// Steer at the middle of the band over which the inner side stands, 200 to 800 ‰; common practice is 500 ‰.
    pub pivot_point: Permille,
    /// Width of that band, 0 to 300 ‰; common practice is 100 ‰.
    pub pivot_band: Permille,
    /// Steer near the middle of the lever, 200 to 1000 ‰ of a straight line; full lever is always full steer.
    pub sensitivity: Permille,
    /// Drive over which the blended law goes from spin to driving, 50 to 500 ‰.
    pub blend_drive: Permille,
    /// What steering right means in reverse.
    pub convention: ReverseConvention,
    /// Travel beyond which the machine counts as rolling, and the yaw of path-following goes by the way it rolls and no
    /// longer by the lever, 20 to 500 ‰.
    pub reverse_blend: Permille,
}

/// Why a [`MixerConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum MixerConfigError {
    /// The pivot point is outside 200 to 800 ‰.
    PivotPoint(Permille),
    /// The pivot band is outside 0 to 300 ‰.
    PivotBand(Permille),
    /// The sensitivity is outside 200 to 1000 ‰.
    Sensitivity(Permille),
    /// The drive over which the law blends is outside 50 to 500 ‰.
    BlendDrive(Permille),
    /// The travel that counts as rolling is outside 20 to 500 ‰.
    ReverseBlend(Permille),
}

impl fmt::Display for MixerConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (name, given, (low, high)) = match self {
            Self::PivotPoint(given) => ("pivot point", given, MixerConfig::PIVOT_POINT),
            Self::PivotBand(given) => ("pivot band", given, MixerConfig::PIVOT_BAND),
            Self::Sensitivity(given) => ("sensitivity", given, MixerConfig::SENSITIVITY),
            Self::BlendDrive(given) => ("blend of drive", given, MixerConfig::BLEND_DRIVE),
            Self::ReverseBlend(given) => ("travel that counts as rolling", given, MixerConfig::REVERSE_BLEND),
        };
        write!(formatter, "{name} of {} ‰: set {low} ‰ to {high} ‰", given.raw())
    }
}

impl core::error::Error for MixerConfigError {}

impl MixerConfig {
    const PIVOT_POINT: (i16, i16) = (200, 800);
    const PIVOT_BAND: (i16, i16) = (0, 300);
    const SENSITIVITY: (i16, i16) = (200, 1000);
    const BLEND_DRIVE: (i16, i16) = (50, 500);
    const REVERSE_BLEND: (i16, i16) = (20, 500);

    /// Largest change of either side per 1 ‰ of drive lever travel, rounded up; `None`: the law jumps at zero drive.
    pub const fn largest_change_per_drive(&self) -> Option<Ratio> {
        let fade = match (self.law, self.convention) {
            (MixLaw::Banded, _) => return None,
            (MixLaw::Blended, ReverseConvention::YawFixed) => 1000,
            (MixLaw::Blended, ReverseConvention::PathFollowing) => 2000,
        };
        let blend = self.blend_drive.raw() as i64;
        let slope = Ratio::from_quotient(blend.wrapping_add(fade), blend.wrapping_mul(1000));
        Some(slope.plus(ROUNDING))
    }

    /// Largest change of either side per 1 ‰ of steer lever travel, rounded up; for both laws.
    pub const fn largest_change_per_steer(&self) -> Ratio {
        let doubled_point = (self.pivot_point.raw() as i64).wrapping_mul(2);
        let doubled_from = doubled_point.wrapping_sub(self.pivot_band.raw() as i64);
        let doubled_beyond = 2000i64.wrapping_sub(doubled_point.wrapping_add(self.pivot_band.raw() as i64));
        let shaping = 3000i64.wrapping_sub((self.sensitivity.raw() as i64).wrapping_mul(2));
        let below = Ratio::from_quotient(shaping.wrapping_mul(2), doubled_from.wrapping_mul(1000));
        let beyond = Ratio::from_quotient(shaping.wrapping_mul(3), doubled_beyond.wrapping_mul(1000));
        below.at_least(beyond).plus(ROUNDING)
    }

    const fn check(&self) -> Result<(), MixerConfigError> {
        if !within(self.pivot_point, Self::PIVOT_POINT) {
            Err(MixerConfigError::PivotPoint(self.pivot_point))
        } else if !within(self.pivot_band, Self::PIVOT_BAND) {
            Err(MixerConfigError::PivotBand(self.pivot_band))
        } else if !within(self.sensitivity, Self::SENSITIVITY) {
            Err(MixerConfigError::Sensitivity(self.sensitivity))
        } else if !within(self.blend_drive, Self::BLEND_DRIVE) {
            Err(MixerConfigError::BlendDrive(self.blend_drive))
        } else if !within(self.reverse_blend, Self::REVERSE_BLEND) {
            Err(MixerConfigError::ReverseBlend(self.reverse_blend))
        } else {
            Ok(())
        }
    }
}

/// What the roundings of a mix can add to a difference of two of them.
const ROUNDING: Ratio = Ratio::saturating(32);

const fn within(value: Permille, (low, high): (i16, i16)) -> bool {
    value.raw() >= low && value.raw() <= high
}

/// Which way the machine rolls, with hysteresis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum Rolling {
    Rest,
    Forward,
    Reverse,
}

/// Mixes drive and steer into left and right. Forward and right are positive; lever right at zero drive is clockwise.
///
/// With *d* = |drive|, *s* = |steer| after sensitivity, and the inner side being the one steered to while going forward:
///
/// - **Banded**: the outer side runs at *d*; the inner one falls in a straight line from *d* at *s* = 0 to zero at
///   `pivot_point − pivot_band / 2`, stays zero up to `pivot_point + pivot_band / 2`, and goes on to −*d* at full
///   steer. At exactly zero drive: left = steer, right = −steer. Between the two it jumps, by up to full scale.
/// - **Blended**: travel is that of the banded law at every drive. Rotation fades from *s* at zero drive, over
///   *b* = `blend_drive`, into that of the banded law, to which it adds towards full steer what is left of full scale:
///   full steer is a spin at full speed at any drive. Above *b* the inner side is never below zero up to the upper end
///   of the pivot band. Continuous in both levers.
///
/// The **largest change** of either side per change *x* of a lever, blended law, with lower and upper end *l*, *u* of the
/// pivot band and sensitivity *k* (all as shares of 1):
///
/// | lever | either side changes by at most |
/// |---|---|
/// | drive | *x* · (1 + 1/*b*); *x* · (1 + 2/*b*) in reverse with path-following |
/// | steer | *x* · (3 − 2*k*) · max(1/*l*, 3/(2 − 2*u*)) |
///
/// With the defaults of common practice and *b* = 300 ‰: 4.3 ‰ (7.7 ‰) and 3.3 ‰ per 1 ‰ of lever travel. This is while
/// the rolling direction stays; [`MixerConfig::largest_change_per_drive`] and
/// [`MixerConfig::largest_change_per_steer`] give the numbers.
///
/// In reverse, **path-following** turns yaw round with the way the machine *rolls*, not with the lever, so that a
/// reversal does not steer the wrong way while it still rolls: `travel` (mean of the ramped sides, or measured) beyond
/// `reverse_blend` decides until it has fallen to a quarter of that; only below, at rest, drive decides. The blended law
/// turns round only the part of yaw that is not spin, so that with the lever going back from zero drive yaw crosses zero
/// within *b*. **Yaw-fixed**: clockwise is clockwise.
///
/// Sides are rounded to nearest 2⁻³⁰, ties away from zero: left and right mirror each other bit for bit.
///
#[doc = include_str!("../../docs/propel-mixer.svg")]
///
/// ```
/// use trunnion::propel::{MixLaw, Mixer, MixerConfig, ReverseConvention};
/// use trunnion::quantity::{Permille, Ratio};
///
/// const fn permille(value: i16) -> Permille {
///     Permille::new(value).unwrap()
/// }
/// let mut mixer = Mixer::new(MixerConfig {
///     law: MixLaw::Banded,
///     pivot_point: permille(500),
///     pivot_band: permille(100),
///     sensitivity: permille(1000),
///     blend_drive: permille(300),
///     convention: ReverseConvention::PathFollowing,
///     reverse_blend: permille(100),
/// })
/// .unwrap();
///
/// let quarter_right = Ratio::from_permille(225).unwrap(); // half of 0 to 45 %
/// let sides = mixer.step(Ratio::ONE, quarter_right, Ratio::ZERO);
/// assert_eq!((sides.left.to_permille().raw(), sides.right.to_permille().raw()), (1000, 500));
/// let spin = mixer.step(Ratio::ZERO, quarter_right, Ratio::ZERO);
/// assert_eq!((spin.left.to_permille().raw(), spin.right.to_permille().raw()), (225, -225));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Mixer {
    steering: Steering,
    law: MixLaw,
    blend_drive: Divisor,
    convention: ReverseConvention,
    rolling_beyond: Ratio,
    resting_within: Ratio,
    rolling: Rolling,
}

impl Mixer {
    /// At rest. Refuses a value outside its range.
    ///
    /// # Errors
    ///
    /// [`MixerConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: MixerConfig) -> Result<Self, MixerConfigError> {
        if let Err(error) = config.check() {
            return Err(error);
        }
        Ok(Self {
            steering: Steering::new(config.pivot_point, config.pivot_band, config.sensitivity),
            law: config.law,
            blend_drive: Divisor::of(
                Ratio::from_quotient(config.blend_drive.raw() as i64, 1000).to_bits().unsigned_abs(),
            ),
            convention: config.convention,
            rolling_beyond: Ratio::from_quotient(config.reverse_blend.raw() as i64, 1000),
            resting_within: Ratio::from_quotient(config.reverse_blend.raw() as i64, 4000),
            rolling: Rolling::Rest,
        })
    }

    /// Another mix, from the next step on; which way the machine rolls is kept.
    ///
    /// # Errors
    ///
    /// [`MixerConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: MixerConfig) -> Result<(), MixerConfigError> {
        *self = Self { rolling: self.rolling, ..Self::new(config)? };
        Ok(())
    }

    /// At rest.
    pub fn reset(&mut self) {
        self.rolling = Rolling::Rest;
    }

    /// The sides for `drive` and `steer`, while the machine moves with `travel`.
    pub fn step(&mut self, drive: Ratio, steer: Ratio, travel: Ratio) -> Sides {
        self.rolling = self.rolls(travel);
        match self.law {
            MixLaw::Banded => self.banded(drive, steer),
            MixLaw::Blended => self.blended(drive, steer),
        }
    }

    fn rolls(&self, travel: Ratio) -> Rolling {
        let (beyond, within) = (self.rolling_beyond, self.resting_within);
        if travel >= beyond || (self.rolling == Rolling::Forward && travel > within) {
            Rolling::Forward
        } else if travel <= beyond.reversed()
            || (self.rolling == Rolling::Reverse && travel < within.reversed())
        {
            Rolling::Reverse
        } else {
            Rolling::Rest
        }
    }

    /// True when steering right means anticlockwise.
    fn yaw_is_turned_round(&self, drive: Ratio) -> bool {
        self.convention == ReverseConvention::PathFollowing
            && match self.rolling {
                Rolling::Forward => false,
                Rolling::Reverse => true,
                Rolling::Rest => drive < Ratio::ZERO,
            }
    }

    fn banded(&self, drive: Ratio, steer: Ratio) -> Sides {
        let speed = drive.to_bits().unsigned_abs();
        let (steer, clockwise) = self.shaped(steer);
        if speed == 0 {
            return Sides::spin(directed(steer, !clockwise));
        }
        let yaw = part(speed, self.steering.yaw_share(steer));
        let travel = directed(speed.wrapping_sub(yaw), drive < Ratio::ZERO).to_bits();
        let yaw = directed(yaw, clockwise == self.yaw_is_turned_round(drive)).to_bits();
        // The outer side runs at the speed and the inner one below it, so that neither can leave the range.
        Sides {
            left: Ratio::within_range(travel.wrapping_add(yaw)),
            right: Ratio::within_range(travel.wrapping_sub(yaw)),
        }
    }

    fn blended(&self, drive: Ratio, steer: Ratio) -> Sides {
        let speed = drive.to_bits().unsigned_abs();
        let (steer, clockwise) = self.shaped(steer);
        let driving = self.blend_drive.fraction(speed);
        let yaw_share = self.steering.yaw_share(steer);
        let curve = part(speed, yaw_share);
        let left_over = part(part(ONE.wrapping_sub(speed), yaw_share), self.steering.beyond_pivot(steer));

        let spin = part(steer, ONE.wrapping_sub(driving));
        let turn = part(curve.wrapping_add(left_over).min(ONE), driving);
        let travel = directed(speed.wrapping_sub(curve), drive < Ratio::ZERO);
        let turn = directed(turn, clockwise == self.yaw_is_turned_round(drive));
        let yaw = directed(spin, !clockwise).plus(turn);
        Sides { left: travel.plus(yaw), right: travel.minus(yaw) }
    }

    /// Magnitude of steer after sensitivity, and whether it is to the right.
    fn shaped(&self, steer: Ratio) -> (u32, bool) {
        (self.steering.shaped(steer.to_bits().unsigned_abs()), steer >= Ratio::ZERO)
    }
}

const ONE: u32 = Ratio::ONE_BITS.unsigned_abs();

/// A magnitude of at most 1 with its direction.
fn directed(magnitude: u32, negative: bool) -> Ratio {
    let bits = magnitude.cast_signed();
    Ratio::within_range(if negative { bits.wrapping_neg() } else { bits })
}

#[cfg(test)]
mod tests;
