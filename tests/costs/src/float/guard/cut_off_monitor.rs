//! Whether the coil supply does what it is told, in `f32`.

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::cut_off_monitor::Block;

/// Times in ms, voltages in mV.
pub struct Twin {
    disagree_after: f32,
    low: f32,
    high: f32,
    differs_for: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (bool, f32);
    type Output = bool;

    // The quantity and the time are exact in `f32`, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { disagree_after: 100.0, low: 3_000.0, high: 6_000.0, differs_for: 0.0 }
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0, words[1] as f32)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (commanded_on, read_back) = *input;
        let differs = if commanded_on { read_back < self.high } else { read_back > self.low };
        let too_long = differs && self.differs_for > self.disagree_after;
        self.differs_for = if differs { self.differs_for + TICK } else { 0.0 };
        !too_long
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
