//! The range of two-speed motors, with its shares in `f32`.

use crate::float::number::share;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::two_speed::Block;

/// What a step takes.
#[derive(Clone, Copy)]
pub struct TwoSpeedInputs {
    pub(crate) request: bool,
    pub(crate) permitted: bool,
    pub(crate) turning: f32,
    pub(crate) speed: f32,
}

/// Why the range is not the one that is wanted.
#[derive(Clone, Copy, PartialEq)]
pub enum Inhibit {
    /// It is the one that is wanted.
    Nothing,
    /// Not permitted.
    NotPermitted,
    /// Turns too much.
    Turning,
    /// Too fast.
    TooFast,
    /// The last shift was a moment ago.
    Dwell,
}

/// The configuration, resolved to a step, and the state.
pub struct TwoSpeed {
    up_below_turning: f32,
    down_below_speed: f32,
    dwell: u32,
    until_next_shift: u32,
    high: bool,
    inhibit: Inhibit,
}

impl TwoSpeed {
    /// Shares of full scale; the dwell in steps.
    pub(crate) fn with(up_below_turning: f32, down_below_speed: f32, dwell: u32) -> Self {
        let inhibit = Inhibit::Nothing;
        Self { up_below_turning, down_below_speed, dwell, until_next_shift: 0, high: false, inhibit }
    }

    pub(crate) fn step(&mut self, inputs: &TwoSpeedInputs) -> bool {
        let wanted = inputs.request && inputs.permitted;
        let obstacle = self.obstacle(inputs, wanted);
        self.until_next_shift = self.until_next_shift.saturating_sub(1);
        if wanted != self.high && obstacle == Inhibit::Nothing {
            self.high = wanted;
            self.until_next_shift = self.dwell;
        }
        self.inhibit = match obstacle {
            Inhibit::Nothing if inputs.request && !inputs.permitted => Inhibit::NotPermitted,
            _ => obstacle,
        };
        self.high
    }

    pub(crate) fn inhibit(&self) -> Inhibit {
        self.inhibit
    }

    fn obstacle(&self, inputs: &TwoSpeedInputs, wanted: bool) -> Inhibit {
        if wanted == self.high {
            Inhibit::Nothing
        } else if wanted && inputs.turning.abs() > self.up_below_turning {
            Inhibit::Turning
        } else if !wanted && inputs.speed.abs() > self.down_below_speed {
            Inhibit::TooFast
        } else if self.until_next_shift > 1 {
            Inhibit::Dwell
        } else {
            Inhibit::Nothing
        }
    }
}

/// The block with the configuration of its subject.
pub struct Twin(TwoSpeed);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = TwoSpeedInputs;
    type Output = (bool, Inhibit);

    // Flags: comparisons of numbers that both have exactly or that lie farther apart than a rounding.
    const DISTANCE: &'static [f32] = &[0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(TwoSpeed::with(0.3, 0.6, 50))
    }

    fn input(words: &Words) -> Self::Input {
        TwoSpeedInputs {
            request: words[0] != 0,
            permitted: words[1] != 0,
            turning: share(words[2]),
            speed: share(words[3]),
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let high = self.0.step(input);
        (high, self.0.inhibit())
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(u8::from(output.0));
        into[1] = f32::from(output.1 as u8);
        2
    }
}
