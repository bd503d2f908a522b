//! Whether a lever is released.

use crate::quantity::{Permille, Ratio};

/// Bands of a [`Neutral`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct NeutralConfig {
    /// Up to this deflection the lever becomes neutral, 0 ‰ or more.
    pub inside: Permille,
    /// Beyond this deflection it is no longer neutral; from `inside` to 500 ‰.
    pub outside: Permille,
}

/// Why a [`NeutralConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum NeutralConfigError {
    /// `inside` is below zero.
    InsideNegative {
        /// What was asked for.
        value: Permille,
    },
    /// `outside` is below `inside` or too large.
    OutsideOutOfRange {
        /// What was asked for.
        value: Permille,
        /// The least that is allowed: `inside`.
        least: Permille,
        /// The most that is allowed.
        most: Permille,
    },
}

impl core::fmt::Display for NeutralConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::InsideNegative { value } => {
                write!(formatter, "inside is {} ‰; it must be 0 ‰ or more", value.raw())
            }
            Self::OutsideOutOfRange { value, least, most } => write!(
                formatter,
                "outside is {} ‰; it must be {} (inside) to {} ‰",
                value.raw(),
                least.raw(),
                most.raw()
            ),
        }
    }
}

impl core::error::Error for NeutralConfigError {}

const LARGEST_OUTSIDE: Permille = Permille::saturating(500);

/// Whether a lever is released: neutral inside the inner band, not neutral outside of the outer one, and
/// as before in between.
///
/// Starts not neutral: a lever is held until it was seen released.
///
#[doc = include_str!("../../docs/lever-neutral.svg")]
///
/// ```
/// use trunnion::lever::{Neutral, NeutralConfig};
/// use trunnion::quantity::{Permille, Ratio};
///
/// let config = NeutralConfig { inside: Permille::new(50).unwrap(), outside: Permille::new(80).unwrap() };
/// let mut released = Neutral::new(config).unwrap();
/// let mut at = |permille| released.step(Ratio::from_permille(permille).unwrap());
/// assert_eq!([at(60), at(50), at(-80), at(81), at(60)], [false, true, true, false, false]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Neutral {
    inside: Ratio,
    outside: Ratio,
    neutral: bool,
}

impl Neutral {
    /// Refuses a band below zero, an outer band inside of the inner one, and one above 500 ‰.
    ///
    /// # Errors
    ///
    /// [`NeutralConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: NeutralConfig) -> Result<Self, NeutralConfigError> {
        let NeutralConfig { inside, outside } = config;
        if inside.raw() < 0 {
            return Err(NeutralConfigError::InsideNegative { value: inside });
        }
        if outside.raw() < inside.raw() || outside.raw() > LARGEST_OUTSIDE.raw() {
            return Err(NeutralConfigError::OutsideOutOfRange {
                value: outside,
                least: inside,
                most: LARGEST_OUTSIDE,
            });
        }
        Ok(Self {
            inside: Ratio::from_quotient(inside.raw() as i64, 1000),
            outside: Ratio::from_quotient(outside.raw() as i64, 1000),
            neutral: false,
        })
    }

    /// Takes new bands as a whole or refuses them as a whole; what was decided is kept until the next step.
    ///
    /// # Errors
    ///
    /// [`NeutralConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: NeutralConfig) -> Result<(), NeutralConfigError> {
        *self = Self { neutral: self.neutral, ..Self::new(config)? };
        Ok(())
    }

    /// Not neutral until seen released.
    pub fn reset(&mut self) {
        self.neutral = false;
    }

    /// One step; true while released.
    pub fn step(&mut self, position: Ratio) -> bool {
        let deflection = position.magnitude();
        let band = if self.neutral { self.outside } else { self.inside };
        self.neutral = deflection <= band;
        self.neutral
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;

    fn config(inside: i16, outside: i16) -> NeutralConfig {
        NeutralConfig { inside: Permille::new(inside).unwrap(), outside: Permille::new(outside).unwrap() }
    }

    #[test]
    fn each_broken_rule_is_refused_by_name_and_changes_nothing() {
        let mut neutral = Neutral::new(config(50, 80)).unwrap();
        for (config, message) in [
            (config(-1, 80), "inside is -1 ‰; it must be 0 ‰ or more"),
            (config(50, 49), "outside is 49 ‰; it must be 50 (inside) to 500 ‰"),
            (config(50, 501), "outside is 501 ‰; it must be 50 (inside) to 500 ‰"),
        ] {
            assert_eq!(neutral.reconfigure(config).unwrap_err().to_string(), message);
            assert_eq!(neutral.inside, Ratio::from_permille(50).unwrap());
        }
    }

    #[test]
    fn new_bands_and_a_reset_do_not_release_a_lever() {
        let mut neutral = Neutral::new(config(50, 80)).unwrap();
        let between = Ratio::from_permille(60).unwrap();
        assert!(neutral.step(Ratio::ZERO) && neutral.step(between));
        neutral.reconfigure(config(40, 70)).unwrap();
        assert!(neutral.step(between), "as before in between");
        neutral.reset();
        assert!(!neutral.step(between), "held until it was seen released");
    }

    proptest! {
        #[test]
        fn the_answer_changes_only_beyond_the_far_band(
            inside in 0_i16..=250, wider in 0_i16..=250, positions in proptest::collection::vec(-1000_i32..=1000, 1..100)
        ) {
            let mut neutral = Neutral::new(config(inside, inside + wider)).unwrap();
            let mut before = false;
            for permille in positions {
                let now = neutral.step(Ratio::from_permille(permille).unwrap());
                let deflection = permille.abs();
                if deflection <= i32::from(inside) {
                    prop_assert!(now);
                } else if deflection > i32::from(inside + wider) {
                    prop_assert!(!now);
                } else {
                    prop_assert_eq!(now, before);
                }
                before = now;
            }
        }
    }
}
