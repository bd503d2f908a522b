//! The start-up test of the output that cuts the supply of all coils, in `f32`.

use trunnion::guard::CutOffState;

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::cut_off::Block;

/// Times in ms, voltages in mV.
pub struct Twin {
    settle: f32,
    low: f32,
    high: f32,
    waited: f32,
    state: CutOffState,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = (CutOffState, bool);

    // The quantity and the time are exact in `f32`, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { settle: 100.0, low: 3_000.0, high: 6_000.0, waited: 0.0, state: CutOffState::TestingOff }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as f32
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let settled = self.waited >= self.settle;
        let next = match self.state {
            CutOffState::TestingOff if settled && *input <= self.low => CutOffState::TestingOn,
            CutOffState::TestingOff if settled => CutOffState::StuckOn,
            CutOffState::TestingOn if settled && *input >= self.high => CutOffState::Passed,
            CutOffState::TestingOn if settled => CutOffState::StuckOff,
            same => same,
        };
        self.waited = if next == self.state { self.waited + TICK } else { 0.0 };
        self.state = next;
        (next, matches!(next, CutOffState::TestingOn | CutOffState::Passed))
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(output.0 as u8);
        into[1] = level(output.1);
        2
    }
}
