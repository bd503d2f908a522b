//! The gate after the valve room, in `f32`.

use trunnion::guard::GateState;

use crate::float::sensed::TICK;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::last_gate::Block;

/// Times in ms, currents in mA.
pub struct LastGate {
    decay: f32,
    stray: f32,
    closed_for: f32,
}

/// The block with the configuration of its subject.
pub struct Twin(LastGate);

impl LastGate {
    /// Closed; the time in ms, the current in mA.
    pub fn with(decay: f32, stray: f32) -> Self {
        Self { decay, stray, closed_for: 0.0 }
    }

    /// One step.
    pub fn step(&mut self, open: bool, measured: f32) -> GateState {
        if open {
            self.closed_for = 0.0;
            return GateState::Open;
        }
        let decayed = self.closed_for > self.decay;
        self.closed_for += TICK;
        if decayed && measured > self.stray { GateState::Disagrees } else { GateState::Closed }
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (bool, f32);
    type Output = GateState;

    // The quantity and the time are exact in `f32`, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(LastGate::with(50.0, 150.0))
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0, words[1] as f32)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(*output as u8);
        1
    }
}
