//! Watches whether a coil carries the current that it was told to, in `f32`: mA, mV, Ω.

use crate::float::number::{larger, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::valve::coil_monitor::Block;

/// Ω, mA, a share; times in steps.
#[derive(Clone, Copy)]
pub struct CoilMonitorConfig {
    pub(crate) resistance: f32,
    pub(crate) window: u32,
    pub(crate) blanking: u32,
    pub(crate) tolerance: f32,
    pub(crate) offset: f32,
    pub(crate) stray: f32,
}

/// What is wrong with a coil.
#[derive(Clone, Copy, Default, PartialEq)]
pub struct Conditions {
    pub(crate) open: bool,
    pub(crate) short: bool,
    pub(crate) deviation: bool,
    pub(crate) unreachable: bool,
    pub(crate) stray: bool,
}

#[derive(Clone, Copy)]
struct Span {
    low: f32,
    high: f32,
}

/// The configuration, resolved to a step, and the state.
pub struct CoilMonitor {
    config: CoilMonitorConfig,
    now: Span,
    before: Span,
    span_step: u32,
    steps: u32,
    current: f32,
    duty: f32,
    supply: f32,
    conditions: Conditions,
    blind: bool,
    frozen: bool,
}

impl CoilMonitor {
    pub(crate) fn with(config: CoilMonitorConfig) -> Self {
        let nothing = Span { low: 0.0, high: 0.0 };
        Self {
            config,
            now: nothing,
            before: nothing,
            span_step: 0,
            steps: 0,
            current: 0.0,
            duty: 0.0,
            supply: 0.0,
            conditions: Conditions::default(),
            blind: false,
            frozen: false,
        }
    }

    /// The duty is 0 to 1.
    pub(crate) fn step(&mut self, set: f32, measured: f32, duty: f32, supply: f32) -> Conditions {
        if self.span_step >= self.config.window + self.config.blanking {
            self.before = self.now;
            self.now = Span { low: set, high: set };
            self.span_step = 0;
        }
        self.now = Span { low: smaller(self.now.low, set), high: larger(self.now.high, set) };
        self.span_step += 1;
        self.steps += 1;
        self.current += measured;
        self.duty += duty;
        self.supply += supply;
        if self.steps >= self.config.window {
            self.conditions = self.judge();
            self.steps = 0;
            self.current = 0.0;
            self.duty = 0.0;
            self.supply = 0.0;
        }
        self.conditions
    }

    pub(crate) fn is_blind(&self) -> bool {
        self.blind
    }

    fn judge(&mut self) -> Conditions {
        let steps = self.steps as f32;
        let (current, duty, supply) = (self.current / steps, self.duty / steps, self.supply / steps);
        let low = smaller(self.now.low, self.before.low);
        let high = larger(self.now.high, self.before.high);
        if high == 0.0 {
            self.blind = false;
            self.frozen = false;
            return Conditions { stray: current > self.config.stray, ..Conditions::default() };
        }
        let CoilMonitorConfig { resistance, tolerance, offset, .. } = self.config;
        let below = current + low * tolerance + offset < low;
        let above = current > high + high * tolerance + offset;
        let resting = high - low <= offset;
        let driven = duty * supply / resistance;
        let visible = 4.0 * offset;
        let too_much = 2.0 * driven < current && current + offset >= visible;
        let visible_and_too_little = 2.0 * driven > 5.0 * current && low >= visible;
        let open = below && visible_and_too_little;
        self.frozen |= !below && visible_and_too_little && resting;
        let short = too_much && (above || resting);
        let unreachable = below && !open && duty >= 0.99;
        let deviation = (below && !open && !unreachable) || (above && !short) || self.frozen;
        self.blind = open || self.frozen;
        Conditions { open, short, deviation, unreachable, stray: false }
    }
}

fn bits(conditions: Conditions) -> u8 {
    let Conditions { open, short, deviation, unreachable, stray } = conditions;
    let all = [open, short, deviation, unreachable, stray];
    all.iter().rev().fold(0, |bits, condition| bits << 1 | u8::from(*condition))
}
/// A pump coil of the loader.
pub(crate) const PUMP: CoilMonitorConfig = CoilMonitorConfig {
    resistance: 5.3,
    window: 10,
    blanking: 20,
    tolerance: 0.12,
    offset: 40.0,
    stray: 150.0,
};

/// The block with the configuration of its subject.
pub struct Twin(CoilMonitor);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = [f32; 4];
    type Output = Conditions;

    // Flags. The block takes means in whole mA and hundredths of a percent, so a limit is met now and then by only one.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 500;

    fn new() -> Self {
        Self(CoilMonitor::with(PUMP))
    }

    fn input(words: &Words) -> Self::Input {
        [words[0] as f32, words[1] as f32, words[2] as f32 / 10_000.0, words[3] as f32]
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let [set, measured, duty, supply] = *input;
        self.0.step(set, measured, duty, supply)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(bits(*output));
        1
    }
}
