//! The tests before the first permission: the cut-off of the coil supply both ways, then a pulse through every coil.

use core::fmt;

use super::{TestPulse, TestPulseConfig, TestPulseConfigError};
use crate::guard::{CutOffState, CutOffTest, CutOffTestConfig, CutOffTestConfigError};
use crate::quantity::{Milliamps, Millis, Millivolts, Period};

crate::choices! {
    /// What the start-up tests have come to.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum StartUpState {
        /// The coil supply cut-off is being tested.
        CutOff = "cut_off",
        /// A pulse goes through each coil in turn.
        Coils = "coils",
        /// All done.
        Done = "done",
        /// The cut-off does not cut or does not feed.
        Failed = "failed",
    }
}

/// Settings of a [`StartUpTest`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct StartUpTestConfig {
    /// Of the cut-off's test.
    pub cut_off: CutOffTestConfig,
    /// Of the pulse through each coil.
    pub pulse: TestPulseConfig,
    /// How long the last pulse takes to decay.
    pub decay: Millis,
}

/// Why a [`StartUpTestConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StartUpTestConfigError {
    /// The cut-off's test.
    CutOff(CutOffTestConfigError),
    /// The pulse.
    Pulse(TestPulseConfigError),
}

impl fmt::Display for StartUpTestConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::CutOff(error) => error.fmt(formatter),
            Self::Pulse(error) => error.fmt(formatter),
        }
    }
}

impl core::error::Error for StartUpTestConfigError {}

/// Tests at start-up that the coil supply can be cut, that it comes, and that every coil carries current and no other does.
///
/// Runs once, as soon as the supply is there and nothing forbids it. When that goes before the end, all of it begins
/// anew; once done it is done until `reset`. A cut-off that does not cut or does not feed ends it with `Failed`; an open
/// coil does not, it is told by [`open_coils`](Self::open_coils).
///
#[doc = include_str!("../../docs/valve-start_up_test.svg")]
///
/// ```
/// use trunnion::guard::CutOffTestConfig;
/// use trunnion::quantity::{Milliamps, Millis, Millivolts, Period, Permille};
/// use trunnion::valve::{StartUpState, StartUpTest, StartUpTestConfig, TestPulseConfig};
///
/// let millivolts = |raw| Millivolts::new(raw).unwrap();
/// let config = StartUpTestConfig {
///     cut_off: CutOffTestConfig { settle: Millis::millis(60), low: millivolts(3_000), high: millivolts(6_000) },
///     pulse: TestPulseConfig {
///         current: Milliamps::new(200).unwrap(),
///         length: Millis::millis(80),
///         pass: Permille::new(500).unwrap(),
///     },
///     decay: Millis::millis(50),
/// };
/// let mut test = StartUpTest::<2>::new(config, Period::from_micros(10_000).unwrap())?;
/// while test.state() != StartUpState::Done {
///     let read_back = millivolts(if test.supply_on() { 12_000 } else { 0 });
///     let [left, _] = test.set_points();
///     test.step(true, read_back, &[left, Milliamps::ZERO]); // the plug of the second coil is off
/// }
/// assert_eq!(test.open_coils(), [false, true]);
/// # Ok::<(), trunnion::valve::StartUpTestConfigError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct StartUpTest<const N: usize> {
    cut_off: CutOffTest,
    pulse: TestPulse<N>,
    state: StartUpState,
    /// Steps since the last pulse, and how many its current takes to be gone.
    decayed: u32,
    decay: u32,
    period: Period,
}

impl<const N: usize> StartUpTest<N> {
    /// Before the first step. Refuses what its parts refuse.
    ///
    /// # Errors
    ///
    /// [`StartUpTestConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: StartUpTestConfig, period: Period) -> Result<Self, StartUpTestConfigError> {
        let cut_off = match CutOffTest::new(config.cut_off, period) {
            Ok(test) => test,
            Err(error) => return Err(StartUpTestConfigError::CutOff(error)),
        };
        let pulse = match TestPulse::new(config.pulse, period) {
            Ok(test) => test,
            Err(error) => return Err(StartUpTestConfigError::Pulse(error)),
        };
        let decay = period.steps(config.decay);
        Ok(Self { cut_off, pulse, state: StartUpState::CutOff, decayed: 0, decay, period })
    }

    /// Other settings as a whole. A pulse test that has begun goes on with the old ones, and what it found stays: a write
    /// heals no coil.
    ///
    /// # Errors
    ///
    /// [`StartUpTestConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: StartUpTestConfig) -> Result<(), StartUpTestConfigError> {
        let Self { pulse, decay, .. } = Self::new(config, self.period)?;
        self.cut_off.reconfigure(config.cut_off).map_err(StartUpTestConfigError::CutOff)?;
        self.decay = decay;
        if self.state == StartUpState::CutOff {
            self.pulse = pulse;
        }
        Ok(())
    }

    /// Everything anew, with the supply off.
    pub fn reset(&mut self) {
        self.cut_off.reset();
        self.pulse.reset();
        self.decayed = 0;
        self.state = StartUpState::CutOff;
    }

    /// One step. `ready`: key on, emergency stop released and supply present; until then the test waits.
    /// `read_back` is the coil supply behind its cut-off, `measured` the current of each coil.
    pub fn step(&mut self, ready: bool, read_back: Millivolts, measured: &[Milliamps; N]) -> StartUpState {
        if !ready && self.state != StartUpState::Done {
            self.reset();
            return self.state;
        }
        self.state = match self.state {
            StartUpState::CutOff => match self.cut_off.step(read_back) {
                CutOffState::Passed => StartUpState::Coils,
                CutOffState::StuckOn | CutOffState::StuckOff => StartUpState::Failed,
                _ => StartUpState::CutOff,
            },
            StartUpState::Coils => {
                self.pulse.step(measured);
                self.decayed = if self.pulse.done() { self.decayed.saturating_add(1) } else { 0 };
                if self.decayed > self.decay { StartUpState::Done } else { StartUpState::Coils }
            }
            ended => ended,
        };
        self.state
    }

    /// What the tests have come to.
    pub const fn state(&self) -> StartUpState {
        self.state
    }

    /// Whether the coil supply may be on as far as the tests go.
    pub fn supply_on(&self) -> bool {
        self.cut_off.supply_on()
    }

    /// The cut-off has been seen to cut and to feed.
    pub const fn is_supply_proven(&self) -> bool {
        matches!(self.state, StartUpState::Coils | StartUpState::Done)
    }

    /// The cut-off did not cut.
    pub fn stuck_on(&self) -> bool {
        self.cut_off.state() == CutOffState::StuckOn
    }

    /// The cut-off did not feed.
    pub fn stuck_off(&self) -> bool {
        self.cut_off.state() == CutOffState::StuckOff
    }

    /// Currents of the pulse, all zero outside of the coil test.
    pub fn set_points(&self) -> [Milliamps; N] {
        if self.state == StartUpState::Coils { self.pulse.set_points() } else { [Milliamps::ZERO; N] }
    }

    /// Coils that drew no current in their pulse, or drew that of another.
    pub fn open_coils(&self) -> [bool; N] {
        core::array::from_fn(|coil| self.pulse.open(coil as u16) || self.pulse.crossed(coil as u16))
    }
}

#[cfg(test)]
mod tests;
