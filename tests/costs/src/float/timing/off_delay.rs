//! A level that goes on for a while, its time in `f32`.

use crate::float::sensed::level;
use crate::float::timing::on_delay::OnDelay;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::timing::off_delay::Block;

/// 300 ms.
pub struct Twin {
    gone: OnDelay,
    started: bool,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = bool;
    type Output = bool;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { gone: OnDelay::with(300.0), started: false }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] != 0
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.started = self.started || *input;
        let gone = self.gone.step(!*input);
        self.started && !gone
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
