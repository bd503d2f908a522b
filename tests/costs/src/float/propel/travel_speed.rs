//! The speed that was asked for, uphill and down, in `f32`; speeds in rpm.

use crate::float::number::{ONE, Reading, held, larger, reading, rpm, share, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::travel_speed::Block;

/// The configuration, resolved to a step, and the state.
pub struct TravelSpeed {
    full_speed: f32,
    gain: f32,
    integral: f32,
    authority: f32,
    sum: f32,
    direction: f32,
}

impl TravelSpeed {
    /// Gain and authority as shares, the integral time in ms.
    pub(crate) fn with(full_speed: f32, gain: f32, integral_time: f32, authority: f32) -> Self {
        Self { full_speed, gain, integral: 10.0 / integral_time, authority, sum: 0.0, direction: 0.0 }
    }

    pub(crate) fn step(&mut self, target: f32, actual: Reading, allowed: f32) -> f32 {
        let direction = if target > 0.0 {
            1.0
        } else if target < 0.0 {
            -1.0
        } else {
            0.0
        };
        if direction == 0.0 || direction != self.direction {
            self.sum = 0.0;
            self.direction = direction;
        }
        let allowed = larger(allowed, 0.0);
        let command = match actual {
            None => {
                self.sum = 0.0;
                smaller(smaller(target.abs() / self.full_speed, 1.0), allowed)
            }
            Some(actual) => self.closed(target.abs(), actual * direction, allowed),
        };
        direction * command
    }

    fn closed(&mut self, target: f32, along: f32, allowed: f32) -> f32 {
        let error = held((target - along) / self.full_speed, -1.0, 1.0);
        let direct = smaller(target / self.full_speed, 1.0) + error * self.gain;
        let step = error * self.integral;
        let moved = self.sum + step;
        let moved = if step > 0.0 {
            smaller(moved, larger(allowed - direct, self.sum))
        } else {
            larger(moved, smaller(-direct, self.sum))
        };
        self.sum = held(moved, -self.authority, self.authority);
        held(direct + self.sum, 0.0, allowed)
    }
}

/// The block with the configuration of its subject.
pub struct Twin(TravelSpeed);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (f32, Reading, f32);
    type Output = f32;

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(TravelSpeed::with(2000.0, 0.5, 2000.0, 0.3))
    }

    fn input(words: &Words) -> Self::Input {
        (rpm(words[0]), reading(words[1], rpm(words[2])), share(words[3]))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1, input.2)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
