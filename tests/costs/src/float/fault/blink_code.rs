//! A code of two digits on one lamp, its times in `f32`.

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::fault::blink_code::Block;

enum Phase {
    Idle,
    Lit,
    Dark,
    Pause,
}

/// Times in ms.
pub struct Twin {
    short: f32,
    long: f32,
    off: f32,
    pause: f32,
    phase: Phase,
    /// How long the phase still lasts.
    left: f32,
    long_left: u8,
    short_left: u8,
}

impl Twin {
    fn enter(&mut self, phase: Phase, time: f32) {
        self.phase = phase;
        self.left = time - TICK;
    }

    fn begin(&mut self, code: u8) {
        let code = code.min(99);
        self.long_left = code / 10;
        self.short_left = code % 10;
        if code == 0 {
            self.phase = Phase::Idle;
        } else {
            self.next_blink();
        }
    }

    fn next_blink(&mut self) {
        if self.long_left > 0 {
            self.long_left = self.long_left.wrapping_sub(1);
            self.enter(Phase::Lit, self.long);
        } else {
            self.short_left = self.short_left.wrapping_sub(1);
            self.enter(Phase::Lit, self.short);
        }
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = u8;
    type Output = bool;

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self {
            short: 250.0,
            long: 750.0,
            off: 250.0,
            pause: 1_500.0,
            phase: Phase::Idle,
            left: 0.0,
            long_left: 0,
            short_left: 0,
        }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as u8
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        if self.left > 0.0 {
            self.left -= TICK;
            return matches!(self.phase, Phase::Lit);
        }
        match self.phase {
            Phase::Lit if self.long_left == 0 && self.short_left == 0 => self.enter(Phase::Pause, self.pause),
            Phase::Lit => self.enter(Phase::Dark, self.off),
            Phase::Dark => self.next_blink(),
            Phase::Idle | Phase::Pause => self.begin(*input),
        }
        matches!(self.phase, Phase::Lit)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(*output);
        1
    }
}
