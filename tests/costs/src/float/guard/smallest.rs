//! The smallest of four shares, in `f32`.

use crate::float::number::{ONE, share, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::smallest::Block;

/// It remembers nothing.
pub struct Twin;

impl FloatTwin for Twin {
    type Of = Block;
    type Input = [f32; 4];
    type Output = f32;

    // Half a step of 2⁻²⁴: how a share is rounded to a float before the twin sees it.
    const DISTANCE: &'static [f32] = &[32.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self
    }

    fn input(words: &Words) -> Self::Input {
        [words[0], words[1], words[2], words[3]].map(share)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        input.iter().fold(1.0, |least, share| smaller(least, *share))
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
