//! Two sources of one speed, in `f32`.

use trunnion::sense::Reading;

use crate::float::number::rpm;
use crate::float::sensed::{TICK, level, reading};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::speed_comparison::Block;

/// rpm and ms.
pub struct Twin {
    tolerance: f32,
    disagree_after: f32,
    waited: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (Reading<f32>, Reading<f32>);
    type Output = bool;

    // The quantity and the time are exact in `f32`, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { tolerance: 100.0, disagree_after: 300.0, waited: 0.0 }
    }

    fn input(words: &Words) -> Self::Input {
        (reading(words[0], rpm(words[1])), reading(words[2], rpm(words[3])))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let differ = match *input {
            (Reading::Valid(a), Reading::Valid(b)) => (a - b).abs() > self.tolerance,
            _ => false,
        };
        if !differ {
            self.waited = 0.0;
            return false;
        }
        let disagree = self.waited >= self.disagree_after;
        self.waited += TICK;
        disagree
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
