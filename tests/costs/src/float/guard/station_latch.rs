//! Two seats, of which one commands, its time in `f32`.

use trunnion::guard::{StationLatchInputs, StationState};

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::guard::station_latch::Block;

/// Times in ms.
pub struct Twin {
    hold: f32,
    in_command: Option<u8>,
    contender: Option<u8>,
    waited: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = StationLatchInputs<2>;
    type Output = StationState;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0, 0.0, 0.0, 0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { hold: 300.0, in_command: None, contender: None, waited: 0.0 }
    }

    fn input(words: &Words) -> Self::Input {
        StationLatchInputs {
            claimed: [words[0] != 0, words[1] != 0],
            neutral: [words[2] != 0, words[3] != 0],
            at_rest: words[4] != 0,
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let alone = match input.claimed {
            [true, false] => Some(0),
            [false, true] => Some(1),
            _ => None,
        };
        let contender = alone.filter(|place| self.in_command != Some(*place));
        let free = input.at_rest && input.neutral[0] && input.neutral[1];
        let waits_on = free && contender.is_some() && contender == self.contender;
        let lasted = waits_on && self.waited >= self.hold;
        if lasted {
            self.in_command = contender;
        }
        self.contender = if lasted || !free { None } else { contender };
        self.waited = if waits_on && !lasted { self.waited + TICK } else { TICK };
        StationState { in_command: self.in_command, waiting: contender.filter(|_| !lasted), changed: lasted }
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(output.in_command.is_some());
        into[1] = f32::from(output.in_command.unwrap_or(0));
        into[2] = level(output.waiting.is_some());
        into[3] = f32::from(output.waiting.unwrap_or(0));
        into[4] = level(output.changed);
        5
    }
}
