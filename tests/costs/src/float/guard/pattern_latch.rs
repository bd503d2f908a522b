//! The lever pattern changes only at rest, its time in `f32`.

use trunnion::guard::PatternState;

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::pattern_latch::Block;

/// Times in ms.
pub struct Twin {
    hold: f32,
    rested: f32,
    steady: f32,
    rocker: Option<u8>,
    active: Option<u8>,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (Option<u8>, bool);
    type Output = PatternState<u8>;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0, 0.0, 0.0, 0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { hold: 500.0, rested: 0.0, steady: 0.0, rocker: None, active: None }
    }

    fn input(words: &Words) -> Self::Input {
        ((words[0] != 0).then_some(words[1] as u8), words[2] != 0)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (rocker, at_rest) = *input;
        let before = self.active;
        let moved = rocker.is_some() && self.rocker.is_some() && rocker != self.rocker;
        let steady = rocker.is_some() && rocker == self.rocker;
        self.steady = if steady { self.steady + TICK } else { 0.0 };
        self.rocker = rocker;

        let rested_enough = at_rest && self.rested >= self.hold;
        self.rested = if at_rest { self.rested + TICK } else { 0.0 };

        let request = moved && rocker != before && before.is_some();
        let first = before.is_none() && rested_enough && self.steady >= self.hold;
        if rocker.is_none() || first || (request && rested_enough) {
            self.active = rocker;
        }
        PatternState {
            active: self.active,
            mismatch: self.active.is_some() && self.active != rocker,
            changed: self.active != before,
            dropped: request && !rested_enough,
        }
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(output.active.is_some());
        into[1] = f32::from(output.active.unwrap_or(0));
        into[2] = level(output.mismatch);
        into[3] = level(output.changed);
        into[4] = level(output.dropped);
        5
    }
}
