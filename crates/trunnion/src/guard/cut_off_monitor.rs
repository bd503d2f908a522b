//! Whether the coil supply does what it is told.

use core::fmt;

use crate::quantity::{Millis, Millivolts, Period};

/// Rules of a [`CutOffMonitor`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct CutOffMonitorConfig {
    /// How long command and read-back may differ, 10 ms to 2 s.
    pub disagree_after: Millis,
    /// At or below this the coil supply is off.
    pub low: Millivolts,
    /// At or above this it is on; above `low`.
    pub high: Millivolts,
}

/// Why a [`CutOffMonitorConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CutOffMonitorConfigError {
    /// The time is outside 10 ms to 2 s.
    DisagreeAfter(Millis),
    /// The lower voltage is not below the upper one.
    Levels {
        /// Lower voltage.
        low: Millivolts,
        /// Upper voltage.
        high: Millivolts,
    },
}

impl fmt::Display for CutOffMonitorConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::DisagreeAfter(given) => write!(
                formatter,
                "coil supply may differ for {given}: set {} to {}",
                CutOffMonitor::SHORTEST,
                CutOffMonitor::LONGEST
            ),
            Self::Levels { low, high } => write!(
                formatter,
                "coil supply off at {} mV and on at {} mV: set the first below the second",
                low.raw(),
                high.raw()
            ),
        }
    }
}

impl core::error::Error for CutOffMonitorConfigError {}

/// Compares the command to the cut-off with the voltage behind it, all the time.
///
/// Between `low` and `high` neither command agrees. It disagrees after a difference longer than the time, and agrees
/// again with the first step without one.
///
#[doc = include_str!("../../docs/guard-cut_off_monitor.svg")]
///
/// ```
/// use trunnion::guard::{CutOffMonitor, CutOffMonitorConfig};
/// use trunnion::quantity::{Millis, Millivolts, Period};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = CutOffMonitorConfig {
///     disagree_after: Millis::millis(50),
///     low: Millivolts::new(2_000).unwrap(),
///     high: Millivolts::new(9_000).unwrap(),
/// };
/// let mut monitor = CutOffMonitor::new(config, TICK).unwrap();
/// let live = Millivolts::new(24_000).unwrap();
/// assert!(monitor.step(true, live));
/// for _ in 0..6 {
///     assert!(monitor.step(false, live)); // may still be falling
/// }
/// assert!(!monitor.step(false, live));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct CutOffMonitor {
    disagree_after: u32,
    low: Millivolts,
    high: Millivolts,
    period: Period,
    differs_for: u32,
}

impl CutOffMonitor {
    /// Shortest time.
    pub const SHORTEST: Millis = Millis::millis(10);
    /// Longest time.
    pub const LONGEST: Millis = Millis::millis(2_000);

    /// In agreement. Refuses a time or levels outside their range.
    ///
    /// # Errors
    ///
    /// [`CutOffMonitorConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: CutOffMonitorConfig, period: Period) -> Result<Self, CutOffMonitorConfigError> {
        let CutOffMonitorConfig { disagree_after, low, high } = config;
        if disagree_after.ticks() < Self::SHORTEST.ticks() || disagree_after.ticks() > Self::LONGEST.ticks() {
            return Err(CutOffMonitorConfigError::DisagreeAfter(disagree_after));
        }
        if low.raw() >= high.raw() {
            return Err(CutOffMonitorConfigError::Levels { low, high });
        }
        Ok(Self { disagree_after: period.steps(disagree_after), low, high, period, differs_for: 0 })
    }

    /// Other rules; a difference under way goes on.
    ///
    /// # Errors
    ///
    /// [`CutOffMonitorConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: CutOffMonitorConfig) -> Result<(), CutOffMonitorConfigError> {
        *self = Self { differs_for: self.differs_for, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// In agreement.
    pub fn reset(&mut self) {
        self.differs_for = 0;
    }

    /// One period: true while command and read-back agree.
    pub fn step(&mut self, commanded_on: bool, read_back: Millivolts) -> bool {
        let differs = if commanded_on { read_back < self.high } else { read_back > self.low };
        if !differs {
            self.differs_for = 0;
            return true;
        }
        let too_long = self.differs_for > self.disagree_after;
        self.differs_for = self.differs_for.saturating_add(1);
        !too_long
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: CutOffMonitorConfig = CutOffMonitorConfig {
        disagree_after: Millis::millis(50),
        low: Millivolts::new(2_000).unwrap(),
        high: Millivolts::new(9_000).unwrap(),
    };

    proptest! {
        #[test]
        fn it_disagrees_exactly_when_the_difference_lasted_longer_than_the_time(
            stream in proptest::collection::vec((any::<bool>(), 0u16..12_000, 1usize..12), 1..20)
        ) {
            let mut monitor = CutOffMonitor::new(CONFIG, TICK).unwrap();
            let mut periods: Option<u32> = None;
            for (on, read_back, steps) in stream {
                for _ in 0..steps {
                    let as_told = if on { read_back >= 9_000 } else { read_back <= 2_000 };
                    periods = if as_told { None } else { Some(periods.map_or(0, |periods| periods + 1)) };
                    let agrees = periods.is_none_or(|periods| periods <= 5);
                    prop_assert_eq!(monitor.step(on, Millivolts::new(read_back).unwrap()), agrees);
                }
            }
        }
    }

    #[test]
    fn a_supply_exactly_at_its_level_is_as_it_was_told() {
        for (on, level) in [(true, CONFIG.high), (false, CONFIG.low)] {
            let mut monitor = CutOffMonitor::new(CONFIG, TICK).unwrap();
            assert!((0..100).all(|_| monitor.step(on, level)), "{level}");
        }
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let disagree_after = Millis::millis(2_001);
        let error = CutOffMonitor::new(CutOffMonitorConfig { disagree_after, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(std::format!("{error}"), "coil supply may differ for 2001 ms: set 10 ms to 2000 ms");
        let low = Millivolts::MAX;
        let error = CutOffMonitor::new(CutOffMonitorConfig { low, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(error, CutOffMonitorConfigError::Levels { low, high: CONFIG.high });
    }

    four_verbs! {
        new: |config| CutOffMonitor::new(config, TICK),
        configs: (CONFIG, CutOffMonitorConfig { disagree_after: Millis::millis(90), low: Millivolts::new(1000).unwrap(), high: Millivolts::new(7000).unwrap() }),
        accepted: [
            CutOffMonitorConfig { disagree_after: Millis::millis(10), ..CONFIG },
            CutOffMonitorConfig { disagree_after: Millis::millis(2000), ..CONFIG },
            CutOffMonitorConfig { low: Millivolts::new(8999).unwrap(), ..CONFIG },
        ],
        refused: [
            CutOffMonitorConfig { disagree_after: Millis::millis(9), ..CONFIG } => "coil supply may differ for 9 ms: set 10 ms to 2000 ms",
            CutOffMonitorConfig { disagree_after: Millis::millis(2001), ..CONFIG } => "coil supply may differ for 2001 ms: set 10 ms to 2000 ms",
            CutOffMonitorConfig { low: Millivolts::new(9000).unwrap(), ..CONFIG } => "coil supply off at 9000 mV and on at 9000 mV: set the first below the second",
        ],
        inputs: (any::<bool>(), 0u16..10_000),
        step: |block, (on, read)| block.step(on, Millivolts::new(read).unwrap()),
        reset: |block| block.reset(),
    }
}
