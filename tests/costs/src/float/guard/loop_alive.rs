//! Whether the loop keeps its period, its time in `f32`.

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::loop_alive::Block;

/// Times in ms.
pub struct Twin {
    overruns: u8,
    forget_after: f32,
    last: Option<u8>,
    counted: u8,
    quiet_for: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = u8;
    type Output = bool;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { overruns: 3, forget_after: 1_000.0, last: None, counted: 0, quiet_for: 0.0 }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as u8
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let new = self.last.map_or(0, |last| input.wrapping_sub(last));
        self.last = Some(*input);
        self.counted = self.counted.saturating_add(new);
        self.quiet_for = if new == 0 { self.quiet_for + TICK } else { 0.0 };
        if self.quiet_for >= self.forget_after {
            self.quiet_for = 0.0;
            self.counted = self.counted.saturating_sub(1);
        }
        self.counted < self.overruns
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
