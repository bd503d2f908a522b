//! Two ramps that know nothing of each other, in `f32`.

use super::motion_ramp::{MotionRamp, Rates};
use crate::float::number::{ONE, share};
use crate::float::sides::Sides;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::ramp::independent_ramps::Block;

/// Each side for itself.
pub struct IndependentRamps {
    left: MotionRamp,
    right: MotionRamp,
}

impl IndependentRamps {
    /// Both at zero; the dwell in steps.
    pub(crate) fn with(positive: Rates, negative: Rates, dwell: u32) -> Self {
        let ramp = || MotionRamp::with(positive, negative, dwell);
        Self { left: ramp(), right: ramp() }
    }

    /// One period of the way.
    pub(crate) fn step(&mut self, target: Sides) -> Sides {
        Sides { left: self.left.step(target.left), right: self.right.step(target.right) }
    }
}

/// The block with the configuration of its subject.
pub struct Twin(IndependentRamps);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = Sides;
    type Output = Sides;

    // A millionth of full scale, but for reversals: steps of 1/35 are no floats, so where the block arrives at zero a
    // rounding error may be left, and the twin rests there and goes on a step later, or a whole dwell.
    const DISTANCE: &'static [f32] = &[1024.0, 1024.0];
    const APART_IN_A_MILLION: u32 = 30000;

    fn new() -> Self {
        Self(IndependentRamps::with(Rates::of(350.0, 200.0, 150.0), Rates::of(450.0, 250.0, 180.0), 5))
    }

    fn input(words: &Words) -> Self::Input {
        Sides { left: share(words[0]), right: share(words[1]) }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.left * ONE;
        into[1] = output.right * ONE;
        2
    }
}
