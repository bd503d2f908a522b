//! The tests before the first permission: coil supply cut-off both ways, then a pulse through every coil.

use trunnion::declare::Refusal;
use trunnion::guard::{CutOffState, CutOffTest, CutOffTestConfig};
use trunnion::quantity::{Milliamps, Millis, Millivolts};
use trunnion::valve::{TestPulse, TestPulseConfig};

use super::{PERIOD, contradiction};
use crate::declaration::{Coil, Parameter, Parameters};

trunnion::choices! {
    /// What the start-up tests have come to.
    pub enum SelfTestState {
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

/// The start-up tests.
#[derive(Debug, Clone, Copy)]
pub struct SelfTest {
    cut_off: CutOffTest,
    pulse: TestPulse<{ Coil::COUNT }>,
    state: SelfTestState,
    /// Periods since the last pulse, and how many its current takes to be gone.
    decayed: u32,
    decay: u32,
}

impl SelfTest {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let cut_off = CutOffTestConfig {
            settle: Millis::from_ticks(60),
            low: Millivolts::saturating(3_000),
            high: Millivolts::saturating(6_000),
        };
        Ok(Self {
            cut_off: CutOffTest::new(cut_off, PERIOD).map_err(|_| {
                contradiction(parameters, Parameter::supply_low, "cut-off limits are out of order")
            })?,
            pulse: TestPulse::new(Self::pulse(parameters), PERIOD)
                .map_err(|_| contradiction(parameters, Parameter::test_pulse_current, "is no test pulse"))?,
            state: SelfTestState::CutOff,
            decayed: 0,
            decay: PERIOD.steps(parameters.decay_time()),
        })
    }

    fn pulse(parameters: &Parameters) -> TestPulseConfig {
        TestPulseConfig {
            current: parameters.test_pulse_current(),
            length: Millis::from_ticks(80),
            pass: trunnion::quantity::Permille::saturating(500),
        }
    }

    /// Takes new parameters. A pulse test that has begun goes on with the old ones, and what it found stays: a write
    /// heals no coil.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        let pulse = TestPulse::new(Self::pulse(parameters), PERIOD)
            .map_err(|_| contradiction(parameters, Parameter::test_pulse_current, "is no test pulse"))?;
        if self.state == SelfTestState::CutOff {
            self.pulse = pulse;
        }
        Ok(())
    }

    /// One period. `ready`: key on, emergency stop released and supply present; until then the test waits.
    pub fn step(
        &mut self,
        ready: bool,
        read_back: Millivolts,
        currents: &[Milliamps; Coil::COUNT],
    ) -> SelfTestState {
        if !ready && self.state != SelfTestState::Done {
            self.cut_off.reset();
            self.pulse.reset();
            self.state = SelfTestState::CutOff;
            return self.state;
        }
        self.state = match self.state {
            SelfTestState::CutOff => match self.cut_off.step(read_back) {
                CutOffState::Passed => SelfTestState::Coils,
                CutOffState::StuckOn | CutOffState::StuckOff => SelfTestState::Failed,
                _ => SelfTestState::CutOff,
            },
            SelfTestState::Coils => {
                self.pulse.step(currents);
                self.decayed = if self.pulse.done() { self.decayed.saturating_add(1) } else { 0 };
                if self.decayed > self.decay { SelfTestState::Done } else { SelfTestState::Coils }
            }
            ended => ended,
        };
        self.state
    }

    /// What the tests have come to.
    pub fn state(&self) -> SelfTestState {
        self.state
    }

    /// Whether the coil supply may be on as far as the tests go.
    pub fn supply_on(&self) -> bool {
        self.cut_off.supply_on()
    }

    /// The cut-off has been seen to cut and to feed.
    pub fn is_supply_proven(&self) -> bool {
        matches!(self.state, SelfTestState::Coils | SelfTestState::Done)
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
    pub fn set_points(&self) -> [Milliamps; Coil::COUNT] {
        if self.state == SelfTestState::Coils {
            self.pulse.set_points()
        } else {
            [Milliamps::ZERO; Coil::COUNT]
        }
    }

    /// Some coil drew no current in its pulse, or that of another.
    pub fn found_open(&self) -> bool {
        self.open_coils().contains(&true)
    }

    /// Coils that drew no current in their pulse, or drew that of another.
    pub fn open_coils(&self) -> [bool; Coil::COUNT] {
        core::array::from_fn(|coil| self.pulse.open(coil as u16) || self.pulse.crossed(coil as u16))
    }
}
