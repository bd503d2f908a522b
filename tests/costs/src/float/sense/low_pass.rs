//! A pressure without its noise, in `f32`.

use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::low_pass::Block;

/// The share of the distance that is covered in a period, 1 − e^(−10/100).
const SHARE: f32 = 0.095_162_58;

/// 100 ms.
pub struct Twin {
    share: f32,
    state: Option<f32>,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // The block rounds to 1 kPa. A float of 40 000 kPa has steps of 1/256, and each step keeps nine tenths of an old error.
    const DISTANCE: &'static [f32] = &[0.55];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { share: SHARE, state: None }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as f32
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let before = self.state.unwrap_or(*input);
        let now = before + (*input - before) * self.share;
        self.state = Some(now);
        now
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = *output;
        1
    }
}
