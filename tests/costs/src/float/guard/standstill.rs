//! Standstill is seen, not assumed, in `f32`.

use trunnion::sense::Reading;

use crate::float::number::rpm;
use crate::float::sensed::{TICK, level, reading};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::standstill::Block;

/// rpm and ms.
pub struct Twin {
    band: f32,
    hold: f32,
    slow_for: f32,
    stands: bool,
}

impl Twin {
    fn is_slow(&self, speed: Reading<f32>) -> bool {
        speed.valid().is_some_and(|speed| speed.abs() <= self.band)
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (bool, [Reading<f32>; 2]);
    type Output = bool;

    // The quantity and the time are exact in `f32`, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { band: 10.0, hold: 200.0, slow_for: 0.0, stands: false }
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0, [reading(words[1], rpm(words[2])), reading(words[3], rpm(words[4]))])
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (commands_zero, [left, right]) = *input;
        if commands_zero && self.is_slow(left) && self.is_slow(right) {
            self.stands = self.slow_for >= self.hold;
            self.slow_for += TICK;
        } else {
            self.stands = false;
            self.slow_for = 0.0;
        }
        self.stands
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
