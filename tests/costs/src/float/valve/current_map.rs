//! From a share of full command to a coil current, in `f32`.

use crate::float::number::share;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::valve::current_map::Block;

/// The configuration, resolved to a step, and the state.
pub struct CurrentMap {
    threshold: f32,
    span: f32,
}

impl CurrentMap {
    /// Currents in mA.
    pub(crate) fn with(threshold: f32, end: f32) -> Self {
        Self { threshold, span: end - threshold }
    }

    pub(crate) fn step(&self, share: f32) -> f32 {
        if share <= 0.0 { 0.0 } else { self.threshold + self.span * share }
    }
}

/// The block with the configuration of its subject.
pub struct Twin(CurrentMap);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // The block gives whole mA.
    const DISTANCE: &'static [f32] = &[0.51];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(CurrentMap::with(420.0, 1150.0))
    }

    fn input(words: &Words) -> Self::Input {
        share(words[0])
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = *output;
        1
    }
}
