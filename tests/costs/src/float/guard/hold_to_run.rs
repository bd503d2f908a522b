//! It runs while it is held, its time in `f32`.

use trunnion::guard::HoldState;
use trunnion::sense::Reading;

use crate::float::sensed::{TICK, reading};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::hold_to_run::Block;

/// Times in ms.
pub struct Twin {
    longest: f32,
    ran_for: f32,
    state: HoldState,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (bool, Reading<bool>);
    type Output = HoldState;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { longest: 2_000.0, ran_for: 0.0, state: HoldState::MustRelease }
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0, reading(words[1], 0.0).map(|_| words[2] != 0))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.state = match *input {
            (false, _) | (_, Reading::Faulted(_)) => HoldState::MustRelease,
            (true, Reading::Valid(false)) => HoldState::Released,
            (true, Reading::Valid(true)) => match self.state {
                HoldState::Released => HoldState::Running,
                HoldState::Running if self.ran_for < self.longest => HoldState::Running,
                HoldState::Running | HoldState::MustRelease => HoldState::MustRelease,
            },
        };
        self.ran_for = if self.state == HoldState::Running { self.ran_for + TICK } else { 0.0 };
        self.state
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(*output as u8);
        1
    }
}
