//! No motion before the levers were let go of, its time in `f32`.

use trunnion::guard::{NeutralStartInputs, StartPhase};

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::neutral_start::Block;

/// Times in ms.
pub struct Twin {
    hold: f32,
    frames: u8,
    phase: StartPhase,
    must_ask: bool,
    neutral_for: f32,
    neutral_frames: u8,
}

impl Twin {
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
        Self {
            hold: 300.0,
            frames: 3,
            phase: StartPhase::Blocked,
            must_ask: true,
            neutral_for: 0.0,
            neutral_frames: 0,
        }
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
        self.must_ask |= input.ask_required;
        if !input.conditions {
            self.forget_neutral();
            self.phase = StartPhase::Blocked;
        } else if self.phase != StartPhase::Permitted {
            self.phase = self.waiting(input);
        }
        (self.phase, self.must_ask)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(output.0 as u8);
        into[1] = level(output.1);
        2
    }
}
