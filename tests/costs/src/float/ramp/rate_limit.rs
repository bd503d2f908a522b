//! A ramp of one command in `f32`.

use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::ramp::rate_limit::Block;

/// Steps of 2⁻³⁰ in full scale.
const ONE: f32 = 1_073_741_824.0;

/// Shares of full scale, per step of 10 ms.
pub struct RateLimit {
    rise: f32,
    fall: f32,
    position: f32,
}

/// Rise 600 ms, fall 300 ms.
pub struct Twin(RateLimit);

impl RateLimit {
    /// At zero; times in ms.
    pub fn with(rise: f32, fall: f32) -> Self {
        Self { rise: 10.0 / rise, fall: 10.0 / fall, position: 0.0 }
    }

    /// One period of the way.
    pub fn step(&mut self, target: f32) -> f32 {
        let from = self.position;
        let turning = (from > 0.0 && target < 0.0) || (from < 0.0 && target > 0.0);
        let goal = if turning { 0.0 } else { target };
        let rate = if turning || target.abs() <= from.abs() { self.fall } else { self.rise };
        let difference = goal - from;
        self.position = if difference > rate {
            from + rate
        } else if difference < -rate {
            from - rate
        } else {
            goal
        };
        self.position
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = f32;

    // One step of the faster side, 1/30: a step of 1/60 is no float, so a command that turns round may lie a rounding
    // error before zero where the block is at zero, and crosses a period later.
    const DISTANCE: &'static [f32] = &[35_792_000.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(RateLimit::with(600.0, 300.0))
    }

    fn input(words: &Words) -> f32 {
        words[0] as f32 / ONE
    }

    fn step(&mut self, target: &f32) -> f32 {
        self.0.step(*target)
    }

    fn output(limited: &f32, into: &mut [f32; WORDS]) -> usize {
        into[0] = limited * ONE;
        1
    }
}
