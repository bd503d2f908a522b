//! Which function each lever works, in `f32`.

use crate::float::number::{ONE, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::lever::pattern::Block;

/// It remembers nothing.
pub struct Twin;

/// Drive, steer, left side, right side, boom, bucket.
#[derive(Clone, Copy, Default)]
pub struct Intent {
    drive: f32,
    steer: f32,
    left_side: f32,
    right_side: f32,
    boom: f32,
    bucket: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (i32, [f32; 4]);
    type Output = Intent;

    // Half a step of 2⁻²⁴: how a share is rounded to a float before the twin sees it.
    const DISTANCE: &'static [f32] = &[32.0, 32.0, 32.0, 32.0, 32.0, 32.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self
    }

    fn input(words: &Words) -> Self::Input {
        (words[0], [words[1], words[2], words[3], words[4]].map(share))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (pattern, [left_x, left_y, right_x, right_y]) = *input;
        match pattern {
            1 => Intent {
                left_side: left_y,
                right_side: right_y,
                boom: -left_x,
                bucket: right_x,
                ..Intent::default()
            },
            2 => {
                Intent { drive: left_y, steer: left_x, boom: -right_y, bucket: right_x, ..Intent::default() }
            }
            _ => Intent::default(),
        }
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        let Intent { drive, steer, left_side, right_side, boom, bucket } = *output;
        let parts = [drive, steer, left_side, right_side, boom, bucket];
        for (word, part) in into.iter_mut().zip(parts) {
            *word = part * ONE;
        }
        parts.len()
    }
}
