//! The operator's own lock, its time in `f32`.

use trunnion::guard::LockState;
use trunnion::sense::Reading;

use crate::float::sensed::{TICK, reading};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::lock::Block;

/// Times in ms.
pub struct Twin {
    hold: f32,
    state: LockState,
    intended: bool,
    neutral_for: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (Reading<bool>, bool);
    type Output = LockState;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { hold: 300.0, state: LockState::Locked, intended: false, neutral_for: 0.0 }
    }

    fn input(words: &Words) -> Self::Input {
        (reading(words[0], 0.0).map(|_| words[1] != 0), words[2] != 0)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (unlock, neutral) = *input;
        let asked = unlock.or(false);
        if !asked {
            self.intended = unlock.is_valid();
            self.state = LockState::Locked;
        }
        if !asked || !neutral {
            self.neutral_for = 0.0;
        }
        if asked && self.state != LockState::Unlocked {
            self.state = if !self.intended {
                LockState::MustCycle
            } else if neutral && self.neutral_for >= self.hold {
                LockState::Unlocked
            } else {
                LockState::NotNeutral
            };
            if neutral {
                self.neutral_for += TICK;
            }
        }
        self.state
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(*output as u8);
        1
    }
}
