//! Two sources of one speed, held against each other.

use super::Reading;
use crate::quantity::{Millis, Period, Rpm};

/// Limits of a [`SpeedComparison`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct SpeedComparisonConfig {
    /// Largest difference that still counts as agreement, 0 rpm or more.
    pub tolerance: Rpm,
    /// How long they may differ more, 0 to 60 s.
    pub disagree_after: Millis,
}

/// Why a [`SpeedComparisonConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SpeedComparisonConfigError {
    /// `tolerance` is below zero.
    ToleranceNegative {
        /// What was asked for.
        value: Rpm,
    },
    /// `disagree_after` is too long.
    DisagreeAfterTooLong {
        /// What was asked for.
        value: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
}

impl core::fmt::Display for SpeedComparisonConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::ToleranceNegative { value } => {
                write!(formatter, "tolerance is {}/8 rpm; it must be 0 rpm or more", value.raw())
            }
            Self::DisagreeAfterTooLong { value, longest } => {
                write!(formatter, "disagree_after is {value}; it must be at most {longest}")
            }
        }
    }
}

impl core::error::Error for SpeedComparisonConfigError {}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Limits {
    tolerance: Rpm,
    disagree_steps: u32,
}

impl Limits {
    const LONGEST: Millis = Millis::from_ticks(60_000);

    const fn resolve(
        config: SpeedComparisonConfig,
        period: Period,
    ) -> Result<Self, SpeedComparisonConfigError> {
        let SpeedComparisonConfig { tolerance, disagree_after } = config;
        if tolerance.raw() < 0 {
            return Err(SpeedComparisonConfigError::ToleranceNegative { value: tolerance });
        }
        if disagree_after.ticks() > Self::LONGEST.ticks() {
            return Err(SpeedComparisonConfigError::DisagreeAfterTooLong {
                value: disagree_after,
                longest: Self::LONGEST,
            });
        }
        Ok(Self { tolerance, disagree_steps: period.steps(disagree_after) })
    }
}

/// Holds two sources of one speed against each other, such as the pickup and the bus.
///
/// They disagree when they differ by more than the tolerance for the whole time. One step of agreement ends
/// it. A faulted reading has its own fault: there is nothing to compare, and the time starts anew.
///
#[doc = include_str!("../../docs/sense-speed_comparison.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period, Rpm};
/// use trunnion::sense::{Reading, SpeedComparison, SpeedComparisonConfig};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let config =
///     SpeedComparisonConfig { tolerance: Rpm::from_whole(100), disagree_after: Millis::millis(20) };
/// let mut comparison = SpeedComparison::new(config, tick).unwrap();
/// let pickup = Reading::Valid(Rpm::from_whole(1_800));
/// let bus = Reading::Valid(Rpm::from_whole(2_200));
/// assert_eq!([comparison.step(pickup, bus), comparison.step(pickup, bus)], [false, false]);
/// assert!(comparison.step(pickup, bus));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SpeedComparison {
    limits: Limits,
    period: Period,
    /// Steps since they first differed by more than the tolerance.
    waited: u32,
}

impl SpeedComparison {
    /// Refuses a tolerance below zero and a time above 60 s.
    ///
    /// # Errors
    ///
    /// [`SpeedComparisonConfigError`]: which rule the config breaks, with its value.
    pub const fn new(
        config: SpeedComparisonConfig,
        period: Period,
    ) -> Result<Self, SpeedComparisonConfigError> {
        match Limits::resolve(config, period) {
            Ok(limits) => Ok(Self { limits, period, waited: 0 }),
            Err(error) => Err(error),
        }
    }

    /// Takes new limits as a whole or refuses them as a whole; the time waited is kept.
    ///
    /// # Errors
    ///
    /// [`SpeedComparisonConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: SpeedComparisonConfig) -> Result<(), SpeedComparisonConfigError> {
        self.limits = Limits::resolve(config, self.period)?;
        Ok(())
    }

    /// Nothing waited.
    pub fn reset(&mut self) {
        self.waited = 0;
    }

    /// One step; true when they disagree.
    pub fn step(&mut self, a: Reading<Rpm>, b: Reading<Rpm>) -> bool {
        let differ = match (a, b) {
            (Reading::Valid(a), Reading::Valid(b)) => a.distance(b) > self.limits.tolerance,
            _ => false,
        };
        if !differ {
            self.waited = 0;
            return false;
        }
        let disagree = self.waited >= self.limits.disagree_steps;
        self.waited = self.waited.saturating_add(1);
        disagree
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;
    use std::string::ToString;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn config(tolerance: i32, disagree_after: u32) -> SpeedComparisonConfig {
        SpeedComparisonConfig {
            tolerance: Rpm::from_whole(tolerance),
            disagree_after: Millis::millis(disagree_after),
        }
    }

    #[test]
    fn limits_outside_their_range_are_refused_and_change_nothing() {
        let mut comparison = SpeedComparison::new(config(100, 500), TICK).unwrap();
        let error = comparison.reconfigure(config(-1, 500)).unwrap_err();
        assert_eq!(error.to_string(), "tolerance is -8/8 rpm; it must be 0 rpm or more");
        let error = comparison.reconfigure(config(100, 60_001)).unwrap_err();
        assert_eq!(error.to_string(), "disagree_after is 60001 ms; it must be at most 60000 ms");
        assert_eq!(comparison.limits.tolerance, Rpm::from_whole(100));
        assert_eq!(comparison.limits.disagree_steps, 50);
    }

    fn reading() -> impl Strategy<Value = Reading<Rpm>> {
        prop_oneof![
            6 => (0..5).prop_map(|hundreds| Reading::Valid(Rpm::from_whole(hundreds * 100))),
            1 => Just(Reading::Faulted(Flaw::Silent)),
        ]
    }

    proptest! {
        #[test]
        fn they_disagree_after_the_time_of_unbroken_difference(
            time in 0_u32..4, readings in proptest::collection::vec((reading(), reading()), 0..100)
        ) {
            let mut comparison = SpeedComparison::new(config(100, time * 10), TICK).unwrap();
            let mut run = 0;
            for (a, b) in readings {
                let differ = match (a, b) {
                    (Reading::Valid(a), Reading::Valid(b)) => (a.raw() - b.raw()).abs() > 800,
                    _ => false,
                };
                run = if differ { run + 1 } else { 0 };
                prop_assert_eq!(comparison.step(a, b), run > time);
            }
        }

        #[test]
        fn the_order_of_the_sources_does_not_matter(a in reading(), b in reading()) {
            let mut one = SpeedComparison::new(config(100, 0), TICK).unwrap();
            let mut other = one;
            prop_assert_eq!(one.step(a, b), other.step(b, a));
        }
    }

    four_verbs! {
        new: |config| SpeedComparison::new(config, TICK),
        configs: (config(100, 200), config(250, 300)),
        accepted: [
            config(0, 0),
            config(100, 60000),
        ],
        refused: [
            config(-1, 0) => "tolerance is -8/8 rpm; it must be 0 rpm or more",
            config(0, 60001) => "disagree_after is 60001 ms; it must be at most 60000 ms",
        ],
        inputs: (reading(), reading()),
        step: |block, (a, b)| block.step(a, b),
        reset: |block| block.reset(),
    }
}
