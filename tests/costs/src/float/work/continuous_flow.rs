//! Auxiliary flow by the wheel, or going on by itself, in `f32`.

use crate::float::number::{ONE, opposed, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::work::continuous_flow::Block;

#[derive(Clone, Copy, PartialEq)]
enum Mode {
    Waiting,
    Proportional,
    Continuous(f32),
}

/// The configuration, resolved to a step, and the state.
pub struct ContinuousFlow {
    flow: f32,
    neutral: f32,
    mode: Mode,
}

impl ContinuousFlow {
    /// No flow; shares of the wheel and of the flow.
    pub(crate) fn with(flow: f32, neutral: f32) -> Self {
        Self { flow, neutral, mode: Mode::Waiting }
    }

    pub(crate) fn step(&mut self, toggle: bool, wheel: f32, permitted: bool) -> f32 {
        let neutral = wheel.abs() <= self.neutral;
        let wheel = if neutral { 0.0 } else { wheel };
        self.mode = match self.mode {
            _ if !permitted => Mode::Waiting,
            Mode::Continuous(flow) if toggle || opposed(wheel, flow) => Mode::Waiting,
            Mode::Continuous(flow) => Mode::Continuous(flow),
            Mode::Proportional if toggle && neutral => Mode::Continuous(self.flow),
            Mode::Proportional if toggle => Mode::Continuous(wheel),
            Mode::Waiting | Mode::Proportional if neutral => Mode::Proportional,
            waiting_or_proportional => waiting_or_proportional,
        };
        match self.mode {
            Mode::Waiting => 0.0,
            Mode::Proportional => wheel,
            Mode::Continuous(flow) => flow,
        }
    }

    pub(crate) fn is_continuous(&self) -> bool {
        matches!(self.mode, Mode::Continuous(_))
    }
}

/// The block with the configuration of its subject.
pub struct Twin(ContinuousFlow);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (bool, f32, bool);
    type Output = (f32, bool);

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(ContinuousFlow::with(0.7, 0.05))
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0, share(words[1]), words[2] != 0)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let intent = self.0.step(input.0, input.1, input.2);
        (intent, self.0.is_continuous())
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0 * ONE;
        into[1] = f32::from(u8::from(output.1));
        2
    }
}
