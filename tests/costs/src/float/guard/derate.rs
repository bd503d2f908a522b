//! Less of everything where the oil is cold, in `f32`.

use crate::float::number::{ONE, held};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::derate::Block;

/// °C, and shares of full scale.
pub struct Twin {
    low: f32,
    at_low: f32,
    high: f32,
    at_high: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // A temperature is rounded to 2⁻²⁰ °C, over 25 °C.
    const DISTANCE: &'static [f32] = &[256.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { low: -15.0, at_low: 0.4, high: 10.0, at_high: 1.0 }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as f32 * 0.1
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let along = held((*input - self.low) / (self.high - self.low), 0.0, 1.0);
        self.at_low + (self.at_high - self.at_low) * along
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
