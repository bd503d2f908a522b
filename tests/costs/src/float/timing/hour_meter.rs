//! How long an engine ran, its fraction of a second in `f32`.

use crate::float::sensed::{TICK, level};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::timing::hour_meter::Block;

/// Whole seconds are counted: a float of the life of a machine in seconds has steps of a second and more.
pub struct Twin {
    seconds: u32,
    fraction_ms: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = bool;
    type Output = (bool, u32);

    // Times in ms are exact, and so are seconds below 2²⁴, 4660 hours.
    const DISTANCE: &'static [f32] = &[0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { seconds: 4_321 * 3_600, fraction_ms: 0.0 }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] != 0
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        if !*input {
            return (false, self.seconds);
        }
        self.fraction_ms += TICK;
        if self.fraction_ms < 1_000.0 {
            return (false, self.seconds);
        }
        self.fraction_ms -= 1_000.0;
        self.seconds = self.seconds.saturating_add(1);
        (true, self.seconds)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = level(output.0);
        into[1] = output.1 as f32;
        2
    }
}
