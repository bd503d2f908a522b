//! Lets the boom follow the ground until it is raised, with its lever in `f32`.

use crate::float::number::share;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::work::float::Block;

/// The configuration, resolved to a step, and the state.
pub struct Float {
    raise: f32,
    on: bool,
}

impl Float {
    /// Off; the raise as a share of the lever.
    pub(crate) fn with(raise: f32) -> Self {
        Self { raise, on: false }
    }

    pub(crate) fn step(&mut self, request: bool, lever: f32, permitted: bool) -> bool {
        self.on = permitted && lever <= self.raise && self.on != request;
        self.on
    }
}

/// The block with the configuration of its subject.
pub struct Twin(Float);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (bool, f32, bool);
    type Output = bool;

    // Flags: comparisons of numbers that both have exactly or that lie farther apart than a rounding.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(Float::with(0.05))
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0, share(words[1]), words[2] != 0)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1, input.2)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(u8::from(*output));
        1
    }
}
