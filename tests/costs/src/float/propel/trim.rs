//! Straight ahead is straight, in `f32`.

use crate::float::number::{ONE, share};
use crate::float::sides::Sides;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::trim::Block;

/// The configuration, resolved to a step, and the state.
pub struct Trim {
    left: f32,
    right: f32,
}

impl Trim {
    /// What each side gets less, as a share.
    pub(crate) fn with(left: f32, right: f32) -> Self {
        Self { left: 1.0 - left, right: 1.0 - right }
    }

    pub(crate) fn step(&self, sides: Sides) -> Sides {
        Sides { left: sides.left * self.left, right: sides.right * self.right }
    }
}

/// The block with the configuration of its subject.
pub struct Twin(Trim);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = Sides;
    type Output = Sides;

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0, 1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(Trim::with(0.0, 0.03))
    }

    fn input(words: &Words) -> Self::Input {
        Sides { left: share(words[0]), right: share(words[1]) }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.left * ONE;
        into[1] = output.right * ONE;
        2
    }
}
