//! Less drive by a pedal, in `f32`.

use crate::float::number::{ONE, Reading, held, reading, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::inching::Block;

/// The configuration, resolved to a step, and the state.
pub struct Inching {
    begin: f32,
    travel: f32,
}

impl Inching {
    /// Shares of the pedal's travel.
    pub(crate) fn with(begin: f32, full: f32) -> Self {
        Self { begin, travel: full - begin }
    }

    pub(crate) fn step(&self, drive: f32, pedal: Reading) -> f32 {
        let pressed = pedal.unwrap_or(1.0) - self.begin;
        drive * (1.0 - held(pressed / self.travel, 0.0, 1.0))
    }
}

/// The block with the configuration of its subject.
pub struct Twin(Inching);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (f32, Reading);
    type Output = f32;

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(Inching::with(0.1, 0.7))
    }

    fn input(words: &Words) -> Self::Input {
        (share(words[0]), reading(words[1], share(words[2])))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
