//! A small square wave around the set-point, in `f32`.

use crate::float::number::smaller;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::valve::dither::Block;

/// The configuration, resolved to a step, and the state.
pub struct Dither {
    amplitude: f32,
    half: u32,
    phase: u32,
}

impl Dither {
    /// The amplitude in mA, half of the cycle in steps.
    pub(crate) fn with(amplitude: f32, half: u32) -> Self {
        Self { amplitude, half, phase: 0 }
    }

    pub(crate) fn step(&mut self, set: f32) -> f32 {
        if set == 0.0 {
            self.phase = 0;
            return 0.0;
        }
        let height = smaller(self.amplitude, set);
        let dithered = if self.phase < self.half { set + height } else { set - height };
        self.phase += 1;
        if self.phase >= 2 * self.half {
            self.phase = 0;
        }
        dithered
    }
}

/// The block with the configuration of its subject.
pub struct Twin(Dither);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // Sums and differences of whole mA are exact.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(Dither::with(40.0, 5))
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as f32
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = *output;
        1
    }
}
