//! Retards what a downgrade drives, in `f32`; speeds in rpm.

use crate::float::number::{ONE, Reading, held, larger, reading, rpm};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::overspeed::Block;

/// The configuration, resolved to a step, and the state.
pub struct Overspeed {
    begin: f32,
    width: f32,
    release: f32,
    retard: f32,
}

impl Overspeed {
    /// The time to release in ms.
    pub(crate) fn with(begin: f32, full: f32, release: f32) -> Self {
        Self { begin, width: full - begin, release: 10.0 / release, retard: 0.0 }
    }

    pub(crate) fn step(&mut self, speed: Reading) -> (f32, bool) {
        let above = speed.unwrap_or(0.0).abs() - self.begin;
        let asked = held(above / self.width, 0.0, 1.0);
        self.retard = larger(larger(asked, self.retard - self.release), 0.0);
        (self.retard, speed.is_none() || self.retard != 0.0)
    }
}

/// The block with the configuration of its subject.
pub struct Twin(Overspeed);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = Reading;
    type Output = (f32, bool);

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each release rounds. Where the block arrives
    // at zero, a rounding error may be left for one step.
    const DISTANCE: &'static [f32] = &[1024.0, 0.0];
    const APART_IN_A_MILLION: u32 = 20;

    fn new() -> Self {
        Self(Overspeed::with(2700.0, 3000.0, 1000.0))
    }

    fn input(words: &Words) -> Self::Input {
        reading(words[0], rpm(words[1]))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0 * ONE;
        into[1] = f32::from(u8::from(output.1));
        2
    }
}
