//! Whether a value that comes in frames is still alive, its times in `f32`.

use trunnion::sense::FreshnessState;

use crate::float::sensed::TICK;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::freshness::Block;

/// Times in ms.
pub struct Twin {
    time_out: f32,
    start_up: f32,
    seen: bool,
    waited: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = bool;
    type Output = FreshnessState;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { time_out: 50.0, start_up: 500.0, seen: false, waited: 0.0 }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] != 0
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        if *input {
            self.seen = true;
            self.waited = 0.0;
            return FreshnessState::Fresh;
        }
        self.waited += TICK;
        match self.seen {
            true if self.waited >= self.time_out => FreshnessState::Lost,
            true => FreshnessState::Fresh,
            false if self.waited > self.start_up => FreshnessState::NeverSeen,
            false => FreshnessState::Waiting,
        }
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(*output as u8);
        1
    }
}
