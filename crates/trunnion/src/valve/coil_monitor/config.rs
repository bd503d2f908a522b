//! Config of the coil monitor, and what is wrong with it.

use core::fmt;

use crate::quantity::{Centiohms, Milliamps, Millis, Permille};

/// What a coil is compared with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilMonitorConfig {
    /// Resistance of the coil at 20 °C, 0.5 to 100 Ω.
    pub resistance: Centiohms,
    /// How long after a change of the set-point the current may still be anywhere between the old and the
    /// new one: at least 5 L/R. 1 to 500 ms.
    pub blanking: Millis,
    /// Time over which current and duty are averaged: whole periods of the PWM and of the dither. 1 to 500 ms.
    pub averaging: Millis,
    /// Allowed error of the current, share of the set-point, up to 500 ‰.
    pub tolerance: Permille,
    /// Allowed error of the current beside that, 1 mA to 1 A.
    pub offset: Milliamps,
    /// Current from which a coil at zero command counts as driven by something else, 1 mA to 1 A: below the
    /// threshold current of its valve.
    pub stray: Milliamps,
}

impl core::hash::Hash for CoilMonitorConfig {
    fn hash<H: core::hash::Hasher>(&self, hasher: &mut H) {
        let Self { resistance, blanking, averaging, tolerance, offset, stray } = *self;
        (resistance, blanking.ticks(), averaging.ticks(), tolerance, offset, stray).hash(hasher);
    }
}

/// Why a [`CoilMonitorConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CoilMonitorConfigError {
    /// The resistance is outside 0.5 to 100 Ω.
    Resistance(Centiohms),
    /// The blanking is outside 1 to 500 ms.
    Blanking(Millis),
    /// The averaging time is outside 1 to 500 ms.
    Averaging(Millis),
    /// The tolerance is outside 0 to 500 ‰.
    Tolerance(Permille),
    /// The offset is outside 1 mA to 1 A.
    Offset(Milliamps),
    /// The stray current is outside 1 mA to 1 A.
    Stray(Milliamps),
}

impl fmt::Display for CoilMonitorConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Resistance(given) => {
                write!(f, "coil resistance {} cΩ is outside 50 to 10000 cΩ", given.raw())
            }
            Self::Blanking(given) => write!(f, "blanking {given} is outside 1 to 500 ms"),
            Self::Averaging(given) => write!(f, "averaging time {given} is outside 1 to 500 ms"),
            Self::Tolerance(given) => write!(f, "current tolerance {} ‰ is outside 0 to 500 ‰", given.raw()),
            Self::Offset(given) => write!(f, "current offset {} mA is outside 1 to 1000 mA", given.raw()),
            Self::Stray(given) => write!(f, "stray current {} mA is outside 1 to 1000 mA", given.raw()),
        }
    }
}

impl core::error::Error for CoilMonitorConfigError {}

/// Whether every value is in its range.
pub(super) const fn check(config: &CoilMonitorConfig) -> Result<(), CoilMonitorConfigError> {
    let CoilMonitorConfig { resistance, blanking, averaging, tolerance, offset, stray } = *config;
    if resistance.raw() < 50 || resistance.raw() > 10_000 {
        return Err(CoilMonitorConfigError::Resistance(resistance));
    }
    if blanking.ticks() < 1 || blanking.ticks() > LONGEST {
        return Err(CoilMonitorConfigError::Blanking(blanking));
    }
    if averaging.ticks() < 1 || averaging.ticks() > LONGEST {
        return Err(CoilMonitorConfigError::Averaging(averaging));
    }
    if tolerance.raw() < 0 || tolerance.raw() > 500 {
        return Err(CoilMonitorConfigError::Tolerance(tolerance));
    }
    if offset.raw() < 1 || offset.raw() > LARGEST {
        return Err(CoilMonitorConfigError::Offset(offset));
    }
    if stray.raw() < 1 || stray.raw() > LARGEST {
        return Err(CoilMonitorConfigError::Stray(stray));
    }
    Ok(())
}

/// Longest blanking and averaging in milliseconds.
const LONGEST: u32 = 500;
/// Largest offset and stray current in milliamperes.
const LARGEST: u16 = 1_000;

#[cfg(test)]
mod tests {
    use super::*;

    fn good() -> CoilMonitorConfig {
        CoilMonitorConfig {
            resistance: Centiohms::new(600).unwrap(),
            blanking: Millis::millis(20),
            averaging: Millis::millis(10),
            tolerance: Permille::new(100).unwrap(),
            offset: Milliamps::new(40).unwrap(),
            stray: Milliamps::new(60).unwrap(),
        }
    }

    #[test]
    fn two_configurations_that_differ_are_told_apart_by_their_hash() {
        use core::hash::{Hash, Hasher};
        use std::collections::{BTreeSet, hash_map::DefaultHasher};
        let hash = |config: &CoilMonitorConfig| {
            let mut hasher = DefaultHasher::new();
            config.hash(&mut hasher);
            hasher.finish()
        };
        let good = good();
        let millis = Millis::millis(99);
        let different = [
            good,
            CoilMonitorConfig { resistance: Centiohms::new(700).unwrap(), ..good },
            CoilMonitorConfig { blanking: millis, ..good },
            CoilMonitorConfig { averaging: millis, ..good },
            CoilMonitorConfig { tolerance: Permille::new(99).unwrap(), ..good },
            CoilMonitorConfig { offset: Milliamps::new(99).unwrap(), ..good },
            CoilMonitorConfig { stray: Milliamps::new(99).unwrap(), ..good },
        ];
        assert_eq!(different.iter().map(hash).collect::<BTreeSet<_>>().len(), different.len());
        assert_eq!(hash(&good), hash(&different[0]));
    }

    #[test]
    fn what_a_coil_fills_in_itself_is_held_in_its_range_too() {
        let good = good();
        let resistance = |raw| CoilMonitorConfig { resistance: Centiohms::new(raw).unwrap(), ..good };
        let blanking = |ticks| CoilMonitorConfig { blanking: Millis::millis(ticks), ..good };
        for taken in [good, resistance(50), resistance(10_000), blanking(1), blanking(500)] {
            assert_eq!(check(&taken), Ok(()));
        }
        for (refused, words) in [
            (resistance(49), "coil resistance 49 cΩ is outside 50 to 10000 cΩ"),
            (resistance(10_001), "coil resistance 10001 cΩ is outside 50 to 10000 cΩ"),
            (blanking(0), "blanking 0 ms is outside 1 to 500 ms"),
            (blanking(501), "blanking 501 ms is outside 1 to 500 ms"),
        ] {
            assert_eq!(std::format!("{}", check(&refused).unwrap_err()), words);
        }
    }
}
