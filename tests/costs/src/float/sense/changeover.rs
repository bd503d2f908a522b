//! A rocker with a contact for each of two positions, its time in `f32`.

use trunnion::sense::Reading;

use crate::float::contact_pair::ContactPair;
use crate::float::sensed::{level, put};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::changeover::Block;

/// 2e+02 ms to disagree.
pub struct Twin(ContactPair);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (bool, bool);
    type Output = Reading<bool>;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(ContactPair::with(2e+02))
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0, words[1] != 0)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        let value = (*output).map(level);
        put(value, 1.0, into)
    }
}
