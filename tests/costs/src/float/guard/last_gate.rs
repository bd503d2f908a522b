//! The gate after the valve room, in `f32`.

use trunnion::guard::GateState;

use crate::float::sensed::TICK;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::last_gate::Block;

/// Times in ms, currents in mA.
pub struct Twin {
    decay: f32,
    stray: f32,
    closed_for: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (bool, f32);
    type Output = GateState;

    // The quantity and the time are exact in `f32`, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { decay: 50.0, stray: 150.0, closed_for: 0.0 }
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0, words[1] as f32)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (open, measured) = *input;
        if open {
            self.closed_for = 0.0;
            return GateState::Open;
        }
        let decayed = self.closed_for > self.decay;
        self.closed_for += TICK;
        if decayed && measured > self.stray { GateState::Disagrees } else { GateState::Closed }
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(*output as u8);
        1
    }
}
