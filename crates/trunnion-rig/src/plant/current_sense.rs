//! Current feedback of an output: shunt, amplifier, 12-bit converter.

use super::config_error::{Check, PlantConfigError};
use super::within::Within;

/// Largest count of a 12-bit converter.
pub const FULL_SCALE_COUNTS: u16 = 4095;

/// The chain from ampere to counts. Typical (engineering judgement): 3 A, gain error 0, offset 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurrentSenseConfig {
    /// Current of the largest count, 0.05 to 100 A.
    pub full_scale_a: f64,
    /// Relative gain error, −0.5 to 0.5.
    pub gain_error: f64,
    /// Offset, −500 to 500 counts.
    pub offset_counts: f64,
}

/// Ampere to counts: rounded half away from zero, saturating at 0 and 4095.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurrentSense {
    counts_per_a: f64,
    offset_counts: f64,
}

impl CurrentSense {
    /// A chain; refuses values outside the ranges of [`CurrentSenseConfig`].
    pub fn new(config: CurrentSenseConfig) -> Result<Self, PlantConfigError> {
        let check = Check("current sense");
        check.range("full_scale_a", config.full_scale_a, 0.05, 100.0)?;
        check.range("gain_error", config.gain_error, -0.5, 0.5)?;
        check.range("offset_counts", config.offset_counts, -500.0, 500.0)?;
        let ideal = f64::from(FULL_SCALE_COUNTS) / config.full_scale_a;
        Ok(CurrentSense {
            counts_per_a: ideal * (1.0 + config.gain_error),
            offset_counts: config.offset_counts,
        })
    }

    /// Counts of a current in ampere. Not-a-number reads as zero.
    pub fn counts(&self, current_a: f64) -> u16 {
        let counts = (current_a * self.counts_per_a + self.offset_counts).round();
        counts.within(0.0, f64::from(FULL_SCALE_COUNTS)) as u16
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CONFIG: CurrentSenseConfig =
        CurrentSenseConfig { full_scale_a: 3.0, gain_error: 0.0, offset_counts: 0.0 };

    #[test]
    fn counts_are_proportional_rounded_and_saturated() {
        let sense = CurrentSense::new(CONFIG).unwrap();
        let half_count = 3.0 / 4095.0 / 2.0;
        for (current, counts) in
            [(0.0, 0), (3.0, 4095), (1.5, 2048), (half_count * 0.99, 0), (half_count * 1.01, 1), (50.0, 4095)]
        {
            assert_eq!(sense.counts(current), counts, "at {current} A");
        }
        assert_eq!(sense.counts(-1.0), 0);
        assert_eq!(sense.counts(f64::NAN), 0);
    }

    #[test]
    fn errors_of_gain_and_offset_add() {
        let config = CurrentSenseConfig { gain_error: 0.1, offset_counts: 20.0, ..CONFIG };
        let sense = CurrentSense::new(config).unwrap();
        assert_eq!(sense.counts(0.0), 20);
        assert_eq!(sense.counts(1.0), 1522);
        assert!(CurrentSense::new(CurrentSenseConfig { full_scale_a: 0.0, ..CONFIG }).is_err());
    }
}
