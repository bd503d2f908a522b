//! A contact without its bounces, its times in `f32`.

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::debounce::Block;

/// Times in ms.
#[derive(Clone, Copy)]
pub struct Debounce {
    set_after: f32,
    clear_after: f32,
    state: bool,
    waited: f32,
}

/// The block with the configuration of its subject.
pub struct Twin(Debounce);

impl Debounce {
    /// Open; times in ms.
    pub fn with(set_after: f32, clear_after: f32) -> Self {
        Self { set_after, clear_after, state: false, waited: 0.0 }
    }

    /// The level that counts.
    pub fn step(&mut self, level: bool) -> bool {
        let needed = if level { self.set_after } else { self.clear_after };
        if level == self.state {
            self.waited = 0.0;
        } else if self.waited >= needed {
            self.state = level;
            self.waited = 0.0;
        } else {
            self.waited += TICK;
        }
        self.state
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
        Self(Debounce::with(50.0, 100.0))
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
