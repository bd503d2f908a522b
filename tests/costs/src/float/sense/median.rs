//! A pressure without single outliers, in `f32`.

use crate::float::number::{larger, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::median::Block;

/// The two before.
pub struct Twin {
    before: Option<(f32, f32)>,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // Every pressure is exact.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { before: None }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as f32
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (older, newer) = self.before.unwrap_or((*input, *input));
        self.before = Some((newer, *input));
        larger(smaller(older, newer), smaller(larger(older, newer), *input))
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = *output;
        1
    }
}
