//! A level that must last before it counts, its time in `f32`.

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::timing::on_delay::Block;

/// Times in ms.
pub struct OnDelay {
    delay: f32,
    waited: f32,
    output: bool,
}

/// The block with the configuration of its subject.
pub struct Twin(OnDelay);

impl OnDelay {
    /// Off, with this time in ms.
    pub fn with(delay: f32) -> Self {
        Self { delay, waited: 0.0, output: false }
    }

    /// One step.
    pub fn step(&mut self, level: bool) -> bool {
        if !level {
            self.waited = 0.0;
            self.output = false;
        } else if self.waited >= self.delay {
            self.output = true;
        } else {
            self.waited += TICK;
        }
        self.output
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = bool;
    type Output = bool;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(OnDelay::with(200.0))
    }

    fn input(words: &Words) -> Self::Input {
        words[0] != 0
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
