//! The lever over the allowed opening of a spool, in `f32`.

use crate::float::number::{ONE, larger, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::work::spool::Block;

/// The configuration, resolved to a step, and the state.
pub struct Spool {
    positive: f32,
    negative: f32,
}

impl Spool {
    /// Largest openings as shares.
    pub(crate) fn with(positive: f32, negative: f32) -> Self {
        Self { positive, negative }
    }

    pub(crate) fn step(&self, intent: f32, share: f32) -> f32 {
        intent * if intent < 0.0 { self.negative } else { self.positive } * larger(share, 0.0)
    }
}

/// The block with the configuration of its subject.
pub struct Twin(Spool);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (f32, f32);
    type Output = f32;

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(Spool::with(0.9, 0.6))
    }

    fn input(words: &Words) -> Self::Input {
        (share(words[0]), share(words[1]))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
