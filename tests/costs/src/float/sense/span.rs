//! From a share of a span to a pressure, in `f32`.

use crate::float::number::{larger, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::span::Block;

/// kPa.
pub struct Twin {
    low: f32,
    high: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // The block rounds to 1 kPa.
    const DISTANCE: &'static [f32] = &[0.501];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { low: 0.0, high: 4_000.0 }
    }

    fn input(words: &Words) -> Self::Input {
        share(words[0])
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.low + (self.high - self.low) * larger(*input, 0.0)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = *output;
        1
    }
}
