//! Everything to zero in the same step, its times in `f32`.

use trunnion::guard::StopState;
use trunnion::sense::Reading;

use crate::float::sensed::{TICK, reading};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::immediate_stop::Block;

enum Press {
    NotSeenReleased,
    Released,
    Held(f32),
}

/// Times in ms.
pub struct Twin {
    shortest: f32,
    longest: f32,
    state: StopState,
    press: Press,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (Reading<bool>, Reading<bool>);
    type Output = StopState;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { shortest: 50.0, longest: 1_000.0, state: StopState::MustReset, press: Press::NotSeenReleased }
    }

    fn input(words: &Words) -> Self::Input {
        (reading(words[0], 0.0).map(|_| words[1] != 0), reading(words[2], 0.0).map(|_| words[3] != 0))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (cause, button) = *input;
        if cause.or(true) {
            self.state = StopState::Stopped;
            self.press = Press::NotSeenReleased;
            return self.state;
        }
        if self.state == StopState::Cleared {
            return self.state;
        }
        self.state = StopState::MustReset;
        self.press = match (&self.press, button) {
            (_, Reading::Faulted(_)) | (Press::NotSeenReleased, Reading::Valid(true)) => {
                Press::NotSeenReleased
            }
            (Press::Released, Reading::Valid(true)) => Press::Held(TICK),
            (Press::Held(time), Reading::Valid(true)) => Press::Held(time + TICK),
            (Press::Held(time), Reading::Valid(false)) if *time >= self.shortest && *time <= self.longest => {
                self.state = StopState::Cleared;
                Press::Released
            }
            (_, Reading::Valid(false)) => Press::Released,
        };
        self.state
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(*output as u8);
        1
    }
}
