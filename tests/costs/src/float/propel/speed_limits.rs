//! Largest speeds forward, in reverse and of rotation, in `f32`.

use crate::float::number::{ONE, share, smaller};
use crate::float::sides::Sides;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::speed_limits::Block;

/// The configuration, resolved to a step, and the state.
pub struct SpeedLimits {
    forward: f32,
    reverse: f32,
    rotation: f32,
}

impl SpeedLimits {
    /// Shares of full scale.
    pub(crate) fn with(forward: f32, reverse: f32, rotation: f32) -> Self {
        Self { forward, reverse, rotation }
    }

    /// Drive and steer, each scaled.
    pub(crate) fn step(&self, drive: f32, steer: f32) -> (f32, f32) {
        (drive * if drive < 0.0 { self.reverse } else { self.forward }, steer * self.rotation)
    }

    /// The sides, scaled together.
    pub(crate) fn apply(&self, sides: Sides) -> Sides {
        let travel = if sides.sum() < 0.0 { self.reverse } else { self.forward };
        sides.scaled(smaller(kept(travel, sides.sum()), kept(self.rotation, sides.difference())))
    }
}

fn kept(limit: f32, doubled: f32) -> f32 {
    let doubled = doubled.abs();
    if doubled <= 2.0 * limit { 1.0 } else { 2.0 * limit / doubled }
}

/// The block with the configuration of its subject.
pub struct Twin(SpeedLimits);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = Sides;
    type Output = (Sides, f32, f32);

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0, 1024.0, 1024.0, 1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(SpeedLimits::with(1.0, 0.8, 0.7))
    }

    fn input(words: &Words) -> Self::Input {
        Sides { left: share(words[0]), right: share(words[1]) }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (drive, steer) = self.0.step(input.left, input.right);
        (self.0.apply(*input), drive, steer)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0.left * ONE;
        into[1] = output.0.right * ONE;
        into[2] = output.1 * ONE;
        into[3] = output.2 * ONE;
        4
    }
}
