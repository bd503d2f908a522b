//! Speed from captured periods, in `f32`.

use trunnion::sense::{Flaw, Reading};

use crate::float::number::smaller;
use crate::float::sensed::{TICK, put};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::period_speed::Block;

/// Times in ms, speeds in rpm.
pub struct Twin {
    /// Speed at a period of one microsecond.
    one_micro: f32,
    zero_speed_after: f32,
    fastest: f32,
    most_glitches: u8,
    silent: f32,
    glitches: u8,
    reading: Reading<f32>,
}

impl Twin {
    fn speed(&self, micros: f32) -> Option<f32> {
        let speed = self.one_micro / micros;
        (speed <= self.fastest).then_some(speed)
    }

    fn wait(&mut self) {
        self.silent += TICK;
        let Reading::Valid(speed) = self.reading else { return };
        if self.silent >= self.zero_speed_after {
            self.reading = Reading::Valid(0.0);
        } else if let Some(bound) = self.speed(self.silent * 1_000.0) {
            self.reading = Reading::Valid(smaller(speed, bound));
        }
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = Option<f32>;
    type Output = Reading<f32>;

    // The block rounds to 1/8 rpm, also before it compares with the fastest: less than 1/16 rpm above it counts there, not here.
    const DISTANCE: &'static [f32] = &[0.0, 0.51];
    const APART_IN_A_MILLION: u32 = 5;

    fn new() -> Self {
        Self {
            one_micro: 60_000_000.0 / 60.0,
            zero_speed_after: 200.0,
            fastest: 2_500.0,
            most_glitches: 2,
            silent: 0.0,
            glitches: 0,
            reading: Reading::Valid(0.0),
        }
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0).then_some(words[1] as f32 * 0.1)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        match input.map(|micros| self.speed(micros)) {
            Some(Some(speed)) => {
                self.reading = Reading::Valid(speed);
                self.silent = 0.0;
                self.glitches = 0;
            }
            Some(None) => {
                self.glitches = self.glitches.saturating_add(1);
                if self.glitches > self.most_glitches {
                    self.reading = Reading::Faulted(Flaw::TooFast);
                }
                // The glitch came later than the teeth of this step and hides them: the reading stays.
                self.silent += TICK;
            }
            None => self.wait(),
        }
        self.reading
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        put(*output, 8.0, into)
    }
}
