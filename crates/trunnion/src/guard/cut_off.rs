//! The output that cuts the supply of all coils.

use core::fmt;

use crate::quantity::{Millis, Millivolts, Period};

/// Rules of a [`CutOffTest`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct CutOffTestConfig {
    /// How long the coil supply takes to follow, 10 ms to 2 s.
    pub settle: Millis,
    /// At or below this the coil supply is off.
    pub low: Millivolts,
    /// At or above this it is on; above `low`.
    pub high: Millivolts,
}

/// Why a [`CutOffTestConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CutOffTestConfigError {
    /// The time to settle is outside 10 ms to 2 s.
    Settle(Millis),
    /// The lower voltage is not below the upper one.
    Levels {
        /// Lower voltage.
        low: Millivolts,
        /// Upper voltage.
        high: Millivolts,
    },
}

impl fmt::Display for CutOffTestConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Settle(given) => write!(
                formatter,
                "coil supply settles in {given}: set {} to {}",
                CutOffTest::SHORTEST_SETTLE,
                CutOffTest::LONGEST_SETTLE
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

impl core::error::Error for CutOffTestConfigError {}

crate::choices! {
    /// How far the start-up test of the cut-off is.
    pub enum CutOffState {
        /// Supply off, waiting for it to fall.
        TestingOff = "testing_off",
        /// Supply on, waiting for it to rise.
        TestingOn = "testing_on",
        /// The cut-off works; the supply is on.
        Passed = "passed",
        /// The supply cannot be cut.
        StuckOn = "stuck_on",
        /// The supply does not come.
        StuckOff = "stuck_off",
    }
}

/// Tests at start-up that the coil supply can be cut and comes back.
///
/// First off for `settle`: then the read-back must be at or below `low`. Then on for `settle`: at or above `high`. A
/// result stays until `reset`; after a failure the supply stays off.
///
#[doc = include_str!("../../docs/guard-cut_off_test.svg")]
///
/// ```
/// use trunnion::guard::{CutOffState, CutOffTest, CutOffTestConfig};
/// use trunnion::quantity::{Millis, Millivolts, Period};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = CutOffTestConfig {
///     settle: Millis::millis(100),
///     low: Millivolts::new(2_000).unwrap(),
///     high: Millivolts::new(9_000).unwrap(),
/// };
/// let mut test = CutOffTest::new(config, TICK).unwrap();
/// while test.is_running() {
///     let read_back = if test.supply_on() { 24_000 } else { 300 };
///     test.step(Millivolts::new(read_back).unwrap());
/// }
/// assert_eq!(test.state(), CutOffState::Passed);
/// assert!(test.supply_on());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct CutOffTest {
    settle: u32,
    low: Millivolts,
    high: Millivolts,
    period: Period,
    waited: u32,
    state: CutOffState,
}

impl CutOffTest {
    /// Shortest time to settle.
    pub const SHORTEST_SETTLE: Millis = Millis::millis(10);
    /// Longest time to settle.
    pub const LONGEST_SETTLE: Millis = Millis::millis(2_000);

    /// At the beginning of the test. Refuses a time or levels outside their range.
    ///
    /// # Errors
    ///
    /// [`CutOffTestConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: CutOffTestConfig, period: Period) -> Result<Self, CutOffTestConfigError> {
        let CutOffTestConfig { settle, low, high } = config;
        if settle.ticks() < Self::SHORTEST_SETTLE.ticks() || settle.ticks() > Self::LONGEST_SETTLE.ticks() {
            return Err(CutOffTestConfigError::Settle(settle));
        }
        if low.raw() >= high.raw() {
            return Err(CutOffTestConfigError::Levels { low, high });
        }
        Ok(Self {
            settle: period.steps(settle),
            low,
            high,
            period,
            waited: 0,
            state: CutOffState::TestingOff,
        })
    }

    /// Other rules, also for a test that is under way; a result stays.
    ///
    /// # Errors
    ///
    /// [`CutOffTestConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: CutOffTestConfig) -> Result<(), CutOffTestConfigError> {
        let Self { settle, low, high, .. } = Self::new(config, self.period)?;
        *self = Self { settle, low, high, ..*self };
        Ok(())
    }

    /// Starts the test again, with the supply off.
    pub fn reset(&mut self) {
        self.waited = 0;
        self.state = CutOffState::TestingOff;
    }

    /// One period; `read_back` is the coil supply behind the cut-off.
    pub fn step(&mut self, read_back: Millivolts) -> CutOffState {
        if !self.is_running() {
            return self.state;
        }
        if self.waited < self.settle {
            self.waited = self.waited.saturating_add(1);
            return self.state;
        }
        self.waited = 0;
        self.state = match self.state {
            CutOffState::TestingOff if read_back <= self.low => CutOffState::TestingOn,
            CutOffState::TestingOff => CutOffState::StuckOn,
            _ if read_back >= self.high => CutOffState::Passed,
            _ => CutOffState::StuckOff,
        };
        self.state
    }

    /// How far the test is, or its result.
    pub const fn state(&self) -> CutOffState {
        self.state
    }

    /// True while there is no result.
    pub const fn is_running(&self) -> bool {
        matches!(self.state, CutOffState::TestingOff | CutOffState::TestingOn)
    }

    /// True when the supply shall be on.
    pub const fn supply_on(&self) -> bool {
        matches!(self.state, CutOffState::TestingOn | CutOffState::Passed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: CutOffTestConfig = CutOffTestConfig {
        settle: Millis::millis(100),
        low: Millivolts::new(2_000).unwrap(),
        high: Millivolts::new(9_000).unwrap(),
    };

    fn result(supply: impl Fn(bool, u32) -> u16) -> (CutOffState, u32) {
        let mut test = CutOffTest::new(CONFIG, TICK).unwrap();
        let mut steps = 0;
        while test.is_running() {
            let read_back = supply(test.supply_on(), steps);
            test.step(Millivolts::new(read_back).unwrap());
            steps += 1;
        }
        assert_eq!(test.supply_on(), test.state() == CutOffState::Passed);
        (test.state(), steps)
    }

    proptest! {
        #[test]
        fn the_result_follows_from_the_settled_voltages_and_takes_two_settling_times(
            off in 0u16..30_000, on in 0u16..30_000
        ) {
            let (state, steps) = result(|supply_on, _| if supply_on { on } else { off });
            let (expected, after) = match (off <= 2_000, on >= 9_000) {
                (false, _) => (CutOffState::StuckOn, 11),
                (true, false) => (CutOffState::StuckOff, 22),
                (true, true) => (CutOffState::Passed, 22),
            };
            prop_assert_eq!((state, steps), (expected, after));
        }

        #[test]
        fn a_result_stays_whatever_is_read_until_reset(read in proptest::collection::vec(0u16..30_000, 1..50)) {
            let mut test = CutOffTest::new(CONFIG, TICK).unwrap();
            while test.is_running() {
                test.step(Millivolts::MAX);
            }
            for read_back in read {
                prop_assert_eq!(test.step(Millivolts::new(read_back).unwrap()), CutOffState::StuckOn);
                prop_assert!(!test.supply_on());
            }
            test.reset();
            prop_assert!(test.is_running() && !test.supply_on());
        }
    }

    #[test]
    fn another_level_counts_for_a_test_that_runs() {
        let mut test = CutOffTest::new(CONFIG, TICK).unwrap();
        while test.state() == CutOffState::TestingOff {
            test.step(Millivolts::ZERO);
        }
        test.reconfigure(CutOffTestConfig { high: Millivolts::new(10_000).unwrap(), ..CONFIG }).unwrap();
        while test.is_running() {
            test.step(Millivolts::new(9_500).unwrap());
        }
        assert_eq!(test.state(), CutOffState::StuckOff);
    }

    #[test]
    fn a_supply_that_falls_slowly_but_within_the_settling_time_passes() {
        let falling = |supply_on, step: u32| {
            if supply_on { 24_000 } else { 24_000u16.saturating_sub(2_300 * step as u16) }
        };
        assert_eq!(result(falling).0, CutOffState::Passed);
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let error = CutOffTest::new(CutOffTestConfig { low: CONFIG.high, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(
            std::format!("{error}"),
            "coil supply off at 9000 mV and on at 9000 mV: set the first below the second"
        );
        let settle = Millis::millis(9);
        let error = CutOffTest::new(CutOffTestConfig { settle, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(error, CutOffTestConfigError::Settle(settle));
    }

    four_verbs! {
        new: |config| CutOffTest::new(config, TICK),
        configs: (CONFIG, CutOffTestConfig { settle: Millis::millis(60), low: Millivolts::new(1000).unwrap(), high: Millivolts::new(7000).unwrap() }),
        accepted: [
            CutOffTestConfig { settle: Millis::millis(10), ..CONFIG },
            CutOffTestConfig { settle: Millis::millis(2000), ..CONFIG },
            CutOffTestConfig { low: Millivolts::new(8999).unwrap(), ..CONFIG },
        ],
        refused: [
            CutOffTestConfig { settle: Millis::millis(9), ..CONFIG } => "coil supply settles in 9 ms: set 10 ms to 2000 ms",
            CutOffTestConfig { settle: Millis::millis(2001), ..CONFIG } => "coil supply settles in 2001 ms: set 10 ms to 2000 ms",
            CutOffTestConfig { low: Millivolts::new(9000).unwrap(), ..CONFIG } => "coil supply off at 9000 mV and on at 9000 mV: set the first below the second",
        ],
        inputs: prop_oneof![0u16..3_000, 6_500u16..10_000],
        step: |block, read| (block.step(Millivolts::new(read).unwrap()), block.state(), block.supply_on()),
        reset: |block| block.reset(),
    }
}
