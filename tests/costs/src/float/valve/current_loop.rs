//! Closed loop for the current of one coil, in `f32`: mA, mV, Ω.

use crate::float::number::{Reading, held, reading, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::valve::current_loop::Block;

/// Ω, ms, mV, mA.
#[derive(Clone, Copy)]
pub struct CurrentLoopConfig {
    pub(crate) resistance: f32,
    pub(crate) time_constant: f32,
    pub(crate) proportional: f32,
    pub(crate) integral_time: f32,
    pub(crate) lowest_supply: f32,
    pub(crate) highest_supply: f32,
    pub(crate) largest: f32,
}

/// The configuration, resolved to a step, and the state.
pub struct CurrentLoop {
    config: CurrentLoopConfig,
    smoothing: f32,
    approach: f32,
    integral_gain: f32,
    adaptation: f32,
    patience: u32,
    smooth: f32,
    reference: f32,
    integral: f32,
    resistance: f32,
    applied: f32,
    supply: f32,
    steps_at_full_duty: u32,
}

impl CurrentLoop {
    /// At a period of 1 ms.
    pub(crate) fn with(config: CurrentLoopConfig) -> Self {
        Self {
            smoothing: 1.0 / (2.0 * config.time_constant + 0.5),
            approach: 1.0 / (config.time_constant + 0.5),
            integral_gain: config.proportional / config.integral_time,
            adaptation: 1.0 / (500.0 * config.largest),
            patience: (5.0 * config.time_constant) as u32,
            smooth: 0.0,
            reference: 0.0,
            integral: 0.0,
            resistance: config.resistance,
            applied: 0.0,
            supply: config.highest_supply,
            steps_at_full_duty: 0,
            config,
        }
    }

    /// The duty, 0 to 1.
    pub(crate) fn step(&mut self, set: f32, dithered: f32, measured: f32, supply: Reading) -> f32 {
        self.measure(supply);
        if set == 0.0 {
            return self.rest();
        }
        if supply.is_some() {
            self.learn(measured);
        }
        let missing = self.reference - measured;
        let asked = self.lead(set, dithered);
        let wanted = self.resistance * asked + self.config.proportional * missing + self.integral;
        let ceiling = self.supply;
        let would_wind_up = (wanted >= ceiling && missing > 0.0) || (wanted <= 0.0 && missing < 0.0);
        if !would_wind_up {
            self.integral = held(self.integral + self.integral_gain * missing, -ceiling, ceiling);
        }
        self.steps_at_full_duty =
            if wanted >= ceiling { self.steps_at_full_duty.saturating_add(1) } else { 0 };
        self.drive(wanted)
    }

    /// The duty when the measurement is not to be believed.
    pub(crate) fn step_blind(&mut self, set: f32, dithered: f32, supply: Reading) -> f32 {
        self.measure(supply);
        if set == 0.0 {
            return self.rest();
        }
        self.integral = 0.0;
        self.steps_at_full_duty = 0;
        let asked = self.lead(set, dithered);
        self.drive(self.resistance * asked)
    }

    pub(crate) fn saturated(&self) -> bool {
        self.steps_at_full_duty >= self.patience
    }

    fn measure(&mut self, supply: Reading) {
        let assumed = supply.unwrap_or(self.config.highest_supply);
        self.supply = held(assumed, self.config.lowest_supply, self.config.highest_supply);
    }

    fn rest(&mut self) -> f32 {
        self.smooth = 0.0;
        self.reference = 0.0;
        self.integral = 0.0;
        self.applied = 0.0;
        self.steps_at_full_duty = 0;
        0.0
    }

    fn lead(&mut self, set: f32, dithered: f32) -> f32 {
        let set = smaller(set, self.config.largest);
        let dither = smaller(dithered, self.config.largest) - set;
        self.smooth += (set - self.smooth) * self.smoothing;
        let asked = self.smooth + dither;
        self.reference += (asked - self.reference) * self.approach;
        asked
    }

    /// Copper at −40 °C has 76 % of its resistance at 20 °C, at 130 °C 143 %.
    fn learn(&mut self, measured: f32) {
        if measured < self.config.largest * 0.125 || self.applied == 0.0 {
            return;
        }
        let unexplained = self.applied - self.resistance * measured;
        let nominal = self.config.resistance;
        self.resistance =
            held(self.resistance + unexplained * self.adaptation, 0.75 * nominal, 1.45 * nominal);
    }

    fn drive(&mut self, wanted: f32) -> f32 {
        self.applied = held(wanted, 0.0, self.supply);
        self.applied / self.supply
    }
}
/// A pump coil of the loader.
pub(crate) const PUMP: CurrentLoopConfig = CurrentLoopConfig {
    resistance: 5.3,
    time_constant: 4.0,
    proportional: 5.3,
    integral_time: 6.0,
    lowest_supply: 7000.0,
    highest_supply: 16_500.0,
    largest: 1600.0,
};

/// The block with the configuration of its subject.
pub struct Twin(CurrentLoop);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (f32, f32, Reading);
    type Output = (f32, bool);

    // One percent of duty: the block compares reference and measurement in whole mA and sums what is missing, up to 0.9 mV
    // a step at these gains, and learns the resistance from whole 10 µV; the twin has no such steps. Farther off for a
    // while where the integral is let go of, or held at a limit, a step apart.
    const DISTANCE: &'static [f32] = &[100.0, 0.0];
    const APART_IN_A_MILLION: u32 = 50_000;

    fn new() -> Self {
        Self(CurrentLoop::with(PUMP))
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] as f32, words[1] as f32, reading(words[2], words[3] as f32))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let duty = self.0.step(input.0, input.0, input.1, input.2);
        (duty, self.0.saturated())
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0 * 10_000.0;
        into[1] = f32::from(u8::from(output.1));
        2
    }
}
