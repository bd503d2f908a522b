//! Less steer at speed, in `f32`; speeds in rpm.

use crate::float::number::{ONE, Reading, held, reading, rpm, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::steer_authority::Block;

/// The configuration, resolved to a step, and the state.
pub struct SteerAuthority {
    slow: f32,
    width: f32,
    taken_at_most: f32,
}

impl SteerAuthority {
    /// The floor as a share of the steer.
    pub(crate) fn with(slow: f32, fast: f32, floor: f32) -> Self {
        Self { slow, width: fast - slow, taken_at_most: 1.0 - floor }
    }

    pub(crate) fn step(&self, steer: f32, speed: Reading) -> f32 {
        let beyond = speed.map_or(1.0, |speed| held((speed.abs() - self.slow) / self.width, 0.0, 1.0));
        steer * (1.0 - self.taken_at_most * beyond)
    }
}

/// The block with the configuration of its subject.
pub struct Twin(SteerAuthority);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (f32, Reading);
    type Output = f32;

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(SteerAuthority::with(60.0, 180.0, 0.4))
    }

    fn input(words: &Words) -> Self::Input {
        (share(words[0]), reading(words[1], rpm(words[2])))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
