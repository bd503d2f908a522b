//! One coil in the fast loop: dither, current control and watch, in `f32`.

use super::coil_monitor::{self, CoilMonitor, CoilMonitorConfig, Conditions};
use super::current_loop::{self, CurrentLoop, CurrentLoopConfig};
use super::dither::Dither;
use crate::float::number::{Reading, reading};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::valve::coil::Block;

/// The configuration, resolved to a step, and the state.
pub struct Coil {
    control: CurrentLoop,
    dither: Dither,
    monitor: CoilMonitor,
    highest_supply: f32,
    duty: f32,
    currents: f32,
    duties: f32,
    steps: u32,
    seen: Conditions,
}

impl Coil {
    pub(crate) fn with(control: CurrentLoopConfig, dither: Dither, monitor: CoilMonitorConfig) -> Self {
        Self {
            control: CurrentLoop::with(control),
            dither,
            monitor: CoilMonitor::with(monitor),
            highest_supply: control.highest_supply,
            duty: 0.0,
            currents: 0.0,
            duties: 0.0,
            steps: 0,
            seen: Conditions::default(),
        }
    }

    pub(crate) fn step(&mut self, set: f32, measured: f32, supply: Reading) -> f32 {
        let assumed = supply.unwrap_or(self.highest_supply);
        let now = self.monitor.step(set, measured, self.duty, assumed);
        self.seen = Conditions {
            open: self.seen.open || now.open,
            short: self.seen.short || now.short,
            deviation: self.seen.deviation || now.deviation,
            unreachable: self.seen.unreachable || now.unreachable,
            stray: self.seen.stray || now.stray,
        };
        let dithered = self.dither.step(set);
        self.duty = if self.monitor.is_blind() {
            self.control.step_blind(set, dithered, supply)
        } else {
            self.control.step(set, dithered, measured, supply)
        };
        self.currents += measured;
        self.duties += self.duty;
        self.steps += 1;
        self.duty
    }
}

/// A pump coil of the loader.
pub(crate) fn pump() -> Coil {
    Coil::with(current_loop::PUMP, Dither::with(40.0, 5), coil_monitor::PUMP)
}

/// The block with the configuration of its subject.
pub struct Twin(Coil);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (f32, f32, Reading);
    type Output = f32;

    // One percent of duty: the block compares reference and measurement in whole mA and sums what is missing, up to 0.9 mV
    // a step at these gains, and learns the resistance from whole 10 µV; the twin has no such steps. Farther off for a
    // while where the integral is let go of, or held at a limit, a step apart.
    const DISTANCE: &'static [f32] = &[100.0];
    const APART_IN_A_MILLION: u32 = 50_000;

    fn new() -> Self {
        Self(pump())
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] as f32, words[1] as f32, reading(words[2], words[3] as f32))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1, input.2)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * 10_000.0;
        1
    }
}
