//! Whether a lever is released, in `f32`.

use crate::float::number::share;
use crate::float::sensed::level;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::lever::neutral::Block;

/// Shares of full scale.
pub struct Twin {
    inside: f32,
    outside: f32,
    neutral: bool,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = bool;

    // A deflection within a step of 2⁻²⁸ of a band may fall on its other side.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 5;

    fn new() -> Self {
        Self { inside: 0.05, outside: 0.08, neutral: false }
    }

    fn input(words: &Words) -> Self::Input {
        share(words[0])
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let band = if self.neutral { self.outside } else { self.inside };
        self.neutral = input.abs() <= band;
        self.neutral
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
