//! Looks for open coils at start-up with a pulse too small to move anything.

use core::fmt;

use crate::quantity::{Milliamps, Millis, Period, Permille, Ratio};

/// The pulse that every coil gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TestPulseConfig {
    /// Current of the pulse: well below the smallest threshold current of the coils. 10 mA to 1 A.
    pub current: Milliamps,
    /// Length of the pulse on each coil, at least three periods and at most 1 s: longer than the opposite coil
    /// takes to be released and this one to settle.
    pub length: Millis,
    /// Share of the current that has to be measured at the end of the pulse, 100 to 900 ‰.
    pub pass: Permille,
}

/// Why a [`TestPulseConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TestPulseConfigError {
    /// The current is outside 10 mA to 1 A.
    Current(Milliamps),
    /// The length is shorter than three periods or above 1 s.
    Length(Millis),
    /// The share is outside 100 to 900 ‰.
    Pass(Permille),
}

impl fmt::Display for TestPulseConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Current(given) => write!(f, "test pulse {} mA is outside 10 to 1000 mA", given.raw()),
            Self::Length(given) => write!(f, "test pulse length {given} is outside three periods to 1000 ms"),
            Self::Pass(given) => write!(f, "share to pass {} ‰ is outside 100 to 900 ‰", given.raw()),
        }
    }
}

impl core::error::Error for TestPulseConfigError {}

crate::choices! {
    /// How far the start-up test of the coils is.
    pub enum TestPulseState {
        /// Pulses are running.
        Testing = "testing",
        /// Every coil carried its pulse.
        Passed = "passed",
        /// At least one did not, or another one carried it.
        Failed = "failed",
    }
}

/// Sends a pulse through one coil after the other and looks whether it arrives there.
///
/// One at a time, so that opposite coils are never driven together and a crossed plug shows as current in
/// another coil. Steps only while the coil supply is on: without it every coil would look open. A coil that
/// opens later is invisible until it is driven; that is for [`CoilMonitor`](super::CoilMonitor).
///
/// ```
/// use trunnion::quantity::{Milliamps, Millis, Period, Permille};
/// use trunnion::valve::{TestPulse, TestPulseConfig, TestPulseState};
///
/// let config = TestPulseConfig {
///     current: Milliamps::new(120).unwrap(),
///     length: Millis::millis(60),
///     pass: Permille::new(500).unwrap(),
/// };
/// let mut test = TestPulse::<2>::new(config, Period::from_micros(10_000).unwrap())?;
/// while !test.done() {
///     let [raise, _] = test.set_points();
///     test.step(&[raise, Milliamps::ZERO]); // the plug of the second coil is off
/// }
/// assert!(!test.open(0) && test.open(1));
/// # Ok::<(), trunnion::valve::TestPulseConfigError>(())
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TestPulse<const N: usize> {
    current: Milliamps,
    enough: Milliamps,
    steps: u32,
    period: Period,
    coil: u32,
    step: u32,
    open: [bool; N],
    crossed: [bool; N],
}

impl<const N: usize> TestPulse<N> {
    const COILS: u32 = N as u32;

    /// Checks the config; the test begins with the first step.
    pub const fn new(config: TestPulseConfig, period: Period) -> Result<Self, TestPulseConfigError> {
        let TestPulseConfig { current, length, pass } = config;
        if current.raw() < 10 || current.raw() > 1_000 {
            return Err(TestPulseConfigError::Current(current));
        }
        let steps = period.steps(length);
        if steps < 3 || length.ticks() > 1_000 {
            return Err(TestPulseConfigError::Length(length));
        }
        if pass.raw() < 100 || pass.raw() > 900 {
            return Err(TestPulseConfigError::Pass(pass));
        }
        let enough = current.scaled(Ratio::from_quotient(pass.raw() as i64, 1000));
        Ok(Self { current, enough, steps, period, coil: 0, step: 0, open: [false; N], crossed: [false; N] })
    }

    /// Takes another config and begins the test anew, or refuses it and keeps the present one.
    pub const fn reconfigure(&mut self, config: TestPulseConfig) -> Result<(), TestPulseConfigError> {
        match Self::new(config, self.period) {
            Ok(test) => {
                *self = test;
                Ok(())
            }
            Err(error) => Err(error),
        }
    }

    /// Begins the test anew.
    pub const fn reset(&mut self) {
        self.coil = 0;
        self.step = 0;
        self.open = [false; N];
        self.crossed = [false; N];
    }

    /// One step with the currents measured since the last one; nothing more happens when the test is done.
    pub fn step(&mut self, measured: &[Milliamps; N]) -> TestPulseState {
        if !self.done() {
            // The first step only starts the pulse: its set-point is not yet in the measurement.
            if self.step >= self.steps {
                self.judge(measured);
                self.coil = self.coil.saturating_add(1);
                self.step = 0;
            }
            self.step = self.step.saturating_add(1);
        }
        self.state()
    }

    /// What each coil is to be driven with until the next step.
    pub fn set_points(&self) -> [Milliamps; N] {
        let mut set_points = [Milliamps::ZERO; N];
        if self.step > 0
            && let Some(set_point) = set_points.get_mut(self.coil as usize)
        {
            *set_point = self.current;
        }
        set_points
    }

    /// True when every coil had its pulse.
    pub const fn done(&self) -> bool {
        self.coil >= Self::COILS
    }

    /// True when this coil did not carry its pulse; false for a coil that was not tested yet.
    pub fn open(&self, coil: u16) -> bool {
        self.open.get(usize::from(coil)).copied().unwrap_or(false)
    }

    /// True when the pulse of this coil, or a current of unknown origin at its time, was in another one.
    pub fn crossed(&self, coil: u16) -> bool {
        self.crossed.get(usize::from(coil)).copied().unwrap_or(false)
    }

    /// How far the test is.
    pub fn state(&self) -> TestPulseState {
        if !self.done() {
            TestPulseState::Testing
        } else if self.open.contains(&true) || self.crossed.contains(&true) {
            TestPulseState::Failed
        } else {
            TestPulseState::Passed
        }
    }

    fn judge(&mut self, measured: &[Milliamps; N]) {
        let tested = self.coil as usize;
        let carries = |current: &Milliamps| *current >= self.enough;
        let elsewhere =
            measured.iter().enumerate().any(|(place, current)| place != tested && carries(current));
        let arrived = measured.get(tested).is_some_and(carries);
        if let Some(open) = self.open.get_mut(tested) {
            *open = !arrived;
        }
        if let Some(crossed) = self.crossed.get_mut(tested) {
            *crossed = elsewhere;
        }
    }
}
