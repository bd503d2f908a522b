//! No motion before the levers were let go of, its time in `f32`.

use trunnion::guard::{NeutralStartInputs, StartPhase};

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::neutral_start::Block;

/// Times in ms.
pub struct NeutralStart {
    hold: f32,
    frames: u8,
    phase: StartPhase,
    must_ask: bool,
    neutral_for: f32,
    neutral_frames: u8,
}

/// The block with the configuration of its subject.
pub struct Twin(NeutralStart);

impl NeutralStart {
    /// Blocked; the time in ms.
    pub fn with(hold: f32, frames: u8) -> Self {
        Self { hold, frames, phase: StartPhase::Blocked, must_ask: true, neutral_for: 0.0, neutral_frames: 0 }
    }

    /// Where it stands.
    pub fn phase(&self) -> StartPhase {
        self.phase
    }

    /// Whether the operator must ask.
    pub fn must_ask(&self) -> bool {
        self.must_ask
    }

    /// One step.
    pub fn step(&mut self, inputs: &NeutralStartInputs) -> StartPhase {
        self.must_ask |= inputs.ask_required;
        if !inputs.conditions {
            self.forget_neutral();
            self.phase = StartPhase::Blocked;
        } else if self.phase != StartPhase::Permitted {
            self.phase = self.waiting(inputs);
        }
        self.phase
    }

    fn waiting(&mut self, inputs: &NeutralStartInputs) -> StartPhase {
        if !inputs.neutral {
            self.forget_neutral();
            return StartPhase::NotNeutral;
        }
        let neutral_long_enough = self.neutral_for >= self.hold;
        self.neutral_for += TICK;
        self.neutral_frames = self.neutral_frames.saturating_add(u8::from(inputs.new_frame));
        if !neutral_long_enough || self.neutral_frames < self.frames {
            return StartPhase::NotNeutral;
        }
        if self.must_ask {
            if inputs.ask_required || !inputs.ask {
                return StartPhase::AwaitingAsk;
            }
            self.must_ask = false;
        }
        self.forget_neutral();
        StartPhase::Permitted
    }

    fn forget_neutral(&mut self) {
        self.neutral_for = 0.0;
        self.neutral_frames = 0;
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = NeutralStartInputs;
    type Output = (StartPhase, bool);

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(NeutralStart::with(300.0, 3))
    }

    fn input(words: &Words) -> Self::Input {
        NeutralStartInputs {
            conditions: words[0] != 0,
            neutral: words[1] != 0,
            new_frame: words[2] != 0,
            ask: words[3] != 0,
            ask_required: words[4] != 0,
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let phase = self.0.step(input);
        (phase, self.0.must_ask())
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(output.0 as u8);
        into[1] = level(output.1);
        2
    }
}
