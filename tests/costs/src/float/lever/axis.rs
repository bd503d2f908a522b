//! One lever axis in `f32`.

use crate::float::number::{ONE, directed_as, held, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::lever::axis::Block;

/// Shares of full scale.
pub struct Axis {
    deadband: f32,
    travel: f32,
    progression: f32,
}

/// The block with the configuration of its subject.
pub struct Twin(Axis);

impl Axis {
    /// In shares of full scale.
    pub fn with(deadband: f32, saturation: f32, progression: f32) -> Self {
        Self { deadband, travel: saturation - deadband, progression }
    }

    /// The intent at a position.
    pub fn step(&self, position: f32) -> f32 {
        let x = held((position.abs() - self.deadband) / self.travel, 0.0, 1.0);
        let intent = x * (1.0 - self.progression) + x * x * x * self.progression;
        directed_as(intent, position)
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // A few steps of 2⁻²⁴, those of a float below one.
    const DISTANCE: &'static [f32] = &[256.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(Axis::with(0.08, 0.98, 0.3))
    }

    fn input(words: &Words) -> Self::Input {
        share(words[0])
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
