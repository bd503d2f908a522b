//! One command, without a jolt at either end, in `f32`.

use crate::float::number::{ONE, larger, share, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::ramp::jerk_limit::Block;

/// The configuration, resolved to a step, and the state.
pub struct JerkLimit {
    full_rate: f32,
    jerk: f32,
    position: f32,
    rate: f32,
}

impl JerkLimit {
    /// At rest at zero; times in ms, steps of 10 ms.
    pub(crate) fn with(full_scale: f32, build_up: f32) -> Self {
        let full_rate = 10.0 / full_scale;
        Self { full_rate, jerk: full_rate * 10.0 / build_up, position: 0.0, rate: 0.0 }
    }

    pub(crate) fn step(&mut self, target: f32) -> f32 {
        let way = target - self.position;
        let towards = if way < 0.0 { -self.rate } else { self.rate };
        let rate = self.rate_for(larger(towards, 0.0), way.abs());
        self.rate = if way < 0.0 { -rate } else { rate };
        self.position += self.rate;
        self.position
    }

    fn rate_for(&self, present: f32, distance: f32) -> f32 {
        let allowed = smaller(present + self.jerk, larger(self.full_rate, present - self.jerk));
        larger(smaller(allowed, self.rate_that_stops_in(distance)), 0.0)
    }

    /// The smallest over n of (distance + j·n·(n − 1) / 2) / n.
    fn rate_that_stops_in(&self, distance: f32) -> f32 {
        let root = square_root(8.0 * distance / self.jerk + 1.0);
        let steps = larger(((root + 1.0) * 0.5) as u32 as f32, 1.0);
        distance / steps + self.jerk * (steps - 1.0) * 0.5
    }
}

/// Of one and more, to a few parts in a million: halves the exponent for a first guess, then twice the mean of a guess
/// and its quotient (Heron). The core library has no root.
fn square_root(value: f32) -> f32 {
    let guess = f32::from_bits((value.to_bits() >> 1) + 0x1FBD_1DF5);
    let guess = 0.5 * (guess + value / guess);
    0.5 * (guess + value / guess)
}

/// The block with the configuration of its subject.
pub struct Twin(JerkLimit);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // Eight millionths of full scale: the position is a sum of up to a hundred rates, each rounded to 24 bits, and the whole
    // number of steps in which to stop may come out one apart.
    const DISTANCE: &'static [f32] = &[8192.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(JerkLimit::with(800.0, 200.0))
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
