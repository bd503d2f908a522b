//! From a share of full command to a coil current.

use core::fmt;

use crate::quantity::{Milliamps, Ratio, part};

/// Currents between which a valve works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CurrentMapConfig {
    /// Current of first movement.
    pub threshold: Milliamps,
    /// Current of full movement, above the threshold and at most [`CurrentMap::LARGEST`].
    pub end: Milliamps,
}

/// Why a [`CurrentMapConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CurrentMapConfigError {
    /// The threshold is not below the end.
    ThresholdNotBelowEnd {
        /// Refused threshold.
        threshold: Milliamps,
        /// End current given with it.
        end: Milliamps,
    },
    /// The end is above [`CurrentMap::LARGEST`].
    EndTooLarge(Milliamps),
}

impl fmt::Display for CurrentMapConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ThresholdNotBelowEnd { threshold, end } => write!(
                f,
                "threshold current {} mA is not below the end current {} mA: lower the threshold or raise the end",
                threshold.raw(),
                end.raw()
            ),
            Self::EndTooLarge(end) => {
                write!(f, "end current {} mA is above {} mA", end.raw(), CurrentMap::LARGEST.raw())
            }
        }
    }
}

impl core::error::Error for CurrentMapConfigError {}

/// Spreads a command of 0 to 1 over the currents between first and full movement.
///
/// No command is no current; the smallest command is the threshold current, so that the lever has no dead
/// start; full command is the end current. Between them the current rises in a straight line, rounded to the
/// nearest milliampere. A negative command belongs to the opposite coil and gives no current here.
///
#[doc = include_str!("../../docs/valve-current_map.svg")]
///
/// ```
/// use trunnion::quantity::{Milliamps, Ratio};
/// use trunnion::valve::{CurrentMap, CurrentMapConfig};
///
/// const RAISE: CurrentMap = match CurrentMap::new(CurrentMapConfig {
///     threshold: Milliamps::new(240).unwrap(),
///     end: Milliamps::new(640).unwrap(),
/// }) {
///     Ok(map) => map,
///     Err(_) => panic!("currents of the raise coil contradict one another"),
/// };
/// assert_eq!(RAISE.step(Ratio::ZERO), Milliamps::ZERO);
/// assert_eq!(RAISE.step(Ratio::from_permille(500).unwrap()).raw(), 440);
/// assert_eq!(RAISE.step(Ratio::ONE).raw(), 640);
/// assert_eq!(RAISE.step(Ratio::MINUS_ONE), Milliamps::ZERO);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CurrentMap {
    config: CurrentMapConfig,
}

impl CurrentMap {
    /// Largest end current: what a proportional output of this class drives (common practice, no source).
    pub const LARGEST: Milliamps = Milliamps::saturating(5_000);

    /// Checks the currents.
    ///
    /// # Errors
    ///
    /// [`CurrentMapConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: CurrentMapConfig) -> Result<Self, CurrentMapConfigError> {
        let CurrentMapConfig { threshold, end } = config;
        if end.raw() > Self::LARGEST.raw() {
            return Err(CurrentMapConfigError::EndTooLarge(end));
        }
        if threshold.raw() >= end.raw() {
            return Err(CurrentMapConfigError::ThresholdNotBelowEnd { threshold, end });
        }
        Ok(Self { config })
    }

    /// Takes other currents, or refuses them and keeps the present ones.
    ///
    /// # Errors
    ///
    /// [`CurrentMapConfigError`], as for `new`; everything then stays as it was.
    pub const fn reconfigure(&mut self, config: CurrentMapConfig) -> Result<(), CurrentMapConfigError> {
        match Self::new(config) {
            Ok(map) => {
                *self = map;
                Ok(())
            }
            Err(error) => Err(error),
        }
    }

    /// Current of first movement.
    pub const fn threshold(&self) -> Milliamps {
        self.config.threshold
    }

    /// Current of full movement.
    pub const fn end(&self) -> Milliamps {
        self.config.end
    }

    /// The current for this share of full command.
    pub const fn step(&self, share: Ratio) -> Milliamps {
        if share.to_bits() <= 0 {
            return Milliamps::ZERO;
        }
        let CurrentMapConfig { threshold, end } = self.config;
        let span = end.raw().saturating_sub(threshold.raw());
        let above = part(span as u32, share.to_bits().unsigned_abs());
        // At most the end.
        Milliamps::within_range(threshold.raw().wrapping_add(above as u16))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn currents() -> impl Strategy<Value = CurrentMapConfig> {
        (0u16..5_000).prop_flat_map(|threshold| {
            (Just(threshold), threshold + 1..=5_000).prop_map(|(threshold, end)| CurrentMapConfig {
                threshold: Milliamps::new(threshold).unwrap(),
                end: Milliamps::new(end).unwrap(),
            })
        })
    }

    fn ratio() -> impl Strategy<Value = Ratio> {
        (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    proptest! {
        #[test]
        fn the_current_is_zero_or_between_threshold_and_end_and_rises_with_the_command(
            config in currents(), low in ratio(), high in ratio()
        ) {
            let map = CurrentMap::new(config).unwrap();
            let (low, high) = (low.at_most(high), low.at_least(high));
            prop_assert!(map.step(low) <= map.step(high));
            for share in [low, high] {
                let current = map.step(share);
                if share > Ratio::ZERO {
                    prop_assert!(current >= config.threshold && current <= config.end);
                } else {
                    prop_assert_eq!(current, Milliamps::ZERO);
                }
            }
        }

        #[test]
        fn the_smallest_command_is_the_threshold_and_the_largest_the_end(config in currents()) {
            let map = CurrentMap::new(config).unwrap();
            prop_assert_eq!(map.step(Ratio::from_bits(1).unwrap()), config.threshold);
            prop_assert_eq!(map.step(Ratio::ONE), config.end);
        }
    }

    #[test]
    fn currents_that_contradict_one_another_are_refused_with_both_values_and_nothing_changes() {
        let good =
            CurrentMapConfig { threshold: Milliamps::new(240).unwrap(), end: Milliamps::new(640).unwrap() };
        let mut map = CurrentMap::new(good).unwrap();
        let bad = CurrentMapConfig { threshold: good.end, ..good };
        let error = map.reconfigure(bad).unwrap_err();
        assert_eq!(error, CurrentMapConfigError::ThresholdNotBelowEnd { threshold: good.end, end: good.end });
        assert!(std::format!("{error}").contains("640 mA is not below the end current 640 mA"));
        assert_eq!(map.config, good);
        let large = CurrentMapConfig { end: Milliamps::new(5_001).unwrap(), ..good };
        assert_eq!(map.reconfigure(large), Err(CurrentMapConfigError::EndTooLarge(large.end)));
        assert_eq!(map.threshold(), good.threshold);
    }

    four_verbs! {
        new: CurrentMap::new,
        configs: (CurrentMapConfig { threshold: Milliamps::new(300).unwrap(), end: Milliamps::new(900).unwrap() }, CurrentMapConfig { threshold: Milliamps::new(420).unwrap(), end: Milliamps::new(1150).unwrap() }),
        accepted: [
            CurrentMapConfig { threshold: Milliamps::new(0).unwrap(), end: Milliamps::new(1).unwrap() },
            CurrentMapConfig { threshold: Milliamps::new(4999).unwrap(), end: Milliamps::new(5000).unwrap() },
        ],
        refused: [
            CurrentMapConfig { threshold: Milliamps::new(9).unwrap(), end: Milliamps::new(9).unwrap() } => "threshold current 9 mA is not below the end current 9 mA: lower the threshold or raise the end",
            CurrentMapConfig { threshold: Milliamps::new(9).unwrap(), end: Milliamps::new(5001).unwrap() } => "end current 5001 mA is above 5000 mA",
        ],
        inputs: ratio(),
        step: |block, share| (block.step(share), block.threshold(), block.end()),
    }
}
