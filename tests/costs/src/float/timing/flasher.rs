//! A lamp that is steady, or flashes, its time in `f32`.

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::timing::flasher::Block;

/// Times in ms.
pub struct Twin {
    half: f32,
    time: f32,
    lit: bool,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = bool;
    type Output = bool;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { half: 300.0, time: 0.0, lit: true }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] != 0
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.time += TICK;
        if !*input {
            self.time = 0.0;
            self.lit = true;
        } else if self.time >= self.half {
            self.time = 0.0;
            self.lit = !self.lit;
        }
        self.lit
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
