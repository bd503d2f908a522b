//! A comparison that does not flutter, in `f32`.

use crate::float::sensed::level;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::timing::hysteresis::Block;

/// kPa.
pub struct Twin {
    on_from: f32,
    off_to: f32,
    output: bool,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = bool;

    // Every pressure is exact.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { on_from: 2_000.0, off_to: 1_800.0, output: false }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as f32
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        if *input >= self.on_from {
            self.output = true;
        } else if *input <= self.off_to {
            self.output = false;
        }
        self.output
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
