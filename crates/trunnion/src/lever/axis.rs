//! The response of a lever axis.

use crate::quantity::{Divisor, Permille, Ratio, part, parts};

/// Response of an [`Axis`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
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
/// progression. Monotone, the same to both sides bit for bit, never outside -1 to 1. Rounds to
/// nearest: share, square, cube and sum, each once.
/// The slope is at most `1000 · (1 + 2 p) / (saturation − deadband)`.
///
#[doc = include_str!("../../docs/lever-axis.svg")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Axis {
    deadband: u32,
    /// Travel between deadband and saturation.
    travel: Divisor,
    progression: u32,
}

impl Axis {
    /// Refuses a deadband above 400 ‰, a saturation below 500 ‰ and a progression below zero.
    ///
    /// # Errors
    ///
    /// [`AxisConfigError`]: which rule the config breaks, with its value.
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
        let [deadband, saturation, progression] = [steps(deadband), steps(saturation), steps(progression)];
        Ok(Self { deadband, travel: Divisor::of(saturation.saturating_sub(deadband)), progression })
    }

    /// Takes a new response as a whole or refuses it as a whole.
    ///
    /// # Errors
    ///
    /// [`AxisConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: AxisConfig) -> Result<(), AxisConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The intent at a position.
    pub const fn step(&self, position: Ratio) -> Ratio {
        let beyond = position.to_bits().unsigned_abs().saturating_sub(self.deadband);
        let share = self.travel.fraction(beyond);
        let cubic = part(part(share, share), share);
        let straight = Ratio::ONE_BITS.unsigned_abs().wrapping_sub(self.progression);
        // A mean of two numbers of at most 1.
        let intent = parts((share, straight), (cubic, self.progression)).cast_signed();
        Ratio::within_range(if position.to_bits() < 0 { intent.wrapping_neg() } else { intent })
    }
}

/// Steps of 2⁻³⁰ of a share that is not negative.
const fn steps(share: Permille) -> u32 {
    Ratio::from_quotient(share.raw() as i64, 1000).to_bits().unsigned_abs()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;

    fn permille(raw: i16) -> Permille {
        Permille::new(raw).unwrap()
    }

    fn config() -> impl Strategy<Value = AxisConfig> {
        (0_i16..=400, 500_i16..=1000, 0_i16..=1000).prop_map(|(deadband, saturation, progression)| {
            AxisConfig {
                deadband: permille(deadband),
                saturation: permille(saturation),
                progression: permille(progression),
            }
        })
    }

    fn ratio() -> impl Strategy<Value = Ratio> {
        (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    #[test]
    fn each_broken_rule_is_refused_by_name_and_changes_nothing() {
        let good = AxisConfig { deadband: permille(80), saturation: permille(980), progression: permille(0) };
        let mut axis = Axis::new(good).unwrap();
        for (config, message) in [
            (AxisConfig { deadband: permille(-1), ..good }, "deadband is -1 ‰; it must be 0 to 400 ‰"),
            (AxisConfig { deadband: permille(401), ..good }, "deadband is 401 ‰; it must be 0 to 400 ‰"),
            (
                AxisConfig { saturation: permille(499), ..good },
                "saturation is 499 ‰; it must be 500 to 1000 ‰",
            ),
            (AxisConfig { progression: permille(-5), ..good }, "progression is -5 ‰; it must be 0 to 1000 ‰"),
        ] {
            assert_eq!(axis.reconfigure(config).unwrap_err().to_string(), message);
            assert_eq!(axis.deadband, steps(permille(80)));
        }
    }

    proptest! {
        #[test]
        fn the_deadband_gives_exactly_nothing_and_saturation_exactly_all(config in config(), position in ratio()) {
            let axis = Axis::new(config).unwrap();
            let intent = axis.step(position);
            if position.magnitude() <= Ratio::from(config.deadband) {
                prop_assert_eq!(intent, Ratio::ZERO);
            }
            if position.magnitude() >= Ratio::from(config.saturation) {
                prop_assert_eq!(intent, Ratio::ONE.directed_as(position));
            }
            prop_assert!(!intent.opposite_direction(position));
        }

        #[test]
        fn left_is_the_mirror_of_right(config in config(), position in ratio()) {
            let axis = Axis::new(config).unwrap();
            prop_assert_eq!(axis.step(position.reversed()), axis.step(position).reversed());
        }

        #[test]
        fn more_lever_is_never_less_intent_and_the_slope_keeps_its_bound(config in config(), a in ratio(), b in ratio()) {
            let axis = Axis::new(config).unwrap();
            let (low, high) = if a <= b { (a, b) } else { (b, a) };
            let rise = i64::from(axis.step(high).to_bits()) - i64::from(axis.step(low).to_bits());
            prop_assert!(rise >= 0);
            let run = i64::from(high.to_bits()) - i64::from(low.to_bits());
            let travel = i64::from(config.saturation.raw() - config.deadband.raw());
            let bound = run * (1000 + 2 * i64::from(config.progression.raw())) / travel;
            prop_assert!(rise <= bound + 64, "{} over {}", rise, bound);
        }

        #[test]
        fn the_response_is_the_stated_blend_of_line_and_cubic(config in config(), position in ratio()) {
            let share = (f64::from(position.to_bits().abs()) / f64::from(Ratio::ONE_BITS)
                - f64::from(config.deadband.raw()) / 1000.0)
                / (f64::from(config.saturation.raw() - config.deadband.raw()) / 1000.0);
            let share = share.max(0.0).min(1.0);
            let progression = f64::from(config.progression.raw()) / 1000.0;
            let exact = (1.0 - progression) * share + progression * share.powi(3);
            let intent = f64::from(Axis::new(config).unwrap().step(position).to_bits().abs()) / f64::from(Ratio::ONE_BITS);
            // Rounding of the two ends, scaled up by the shortest travel, 100 ‰, and the steepest slope, 3.
            prop_assert!((intent - exact).abs() < 5e-8, "{} is not {}", intent, exact);
        }
    }

    four_verbs! {
        new: Axis::new,
        configs: (AxisConfig { deadband: permille(80), saturation: permille(980), progression: permille(300) }, AxisConfig { deadband: permille(120), saturation: permille(900), progression: permille(0) }),
        accepted: [
            AxisConfig { deadband: permille(0), saturation: permille(500), progression: permille(0) },
            AxisConfig { deadband: permille(400), saturation: permille(1000), progression: permille(1000) },
        ],
        refused: [
            AxisConfig { deadband: permille(-1), saturation: permille(500), progression: permille(0) } => "deadband is -1 ‰; it must be 0 to 400 ‰",
            AxisConfig { deadband: permille(401), saturation: permille(500), progression: permille(0) } => "deadband is 401 ‰; it must be 0 to 400 ‰",
            AxisConfig { deadband: permille(0), saturation: permille(499), progression: permille(0) } => "saturation is 499 ‰; it must be 500 to 1000 ‰",
            AxisConfig { deadband: permille(0), saturation: permille(500), progression: permille(-1) } => "progression is -1 ‰; it must be 0 to 1000 ‰",
        ],
        inputs: ratio(),
        step: |block, position| block.step(position),
    }
}
