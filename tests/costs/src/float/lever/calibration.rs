//! A lever by its own ends and centre, in `f32`.

use trunnion::sense::{Flaw, Reading};

use crate::float::number::{ONE, held};
use crate::float::sensed::put;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::lever::calibration::Block;

/// mV.
pub struct Twin {
    low: f32,
    centre: f32,
    high: f32,
    overtravel: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = Reading<f32>;

    // One rounding, to 2⁻²⁴ of full scale.
    const DISTANCE: &'static [f32] = &[0.0, 64.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { low: 480.0, centre: 2_530.0, high: 4_530.0, overtravel: 150.0 }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as f32
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let signal = *input;
        if signal < self.low - self.overtravel || signal > self.high + self.overtravel {
            return Reading::Faulted(Flaw::OutOfRange);
        }
        let deflection = signal - self.centre;
        let travel = if deflection < 0.0 { self.centre - self.low } else { self.high - self.centre };
        Reading::Valid(held(deflection / travel, -1.0, 1.0))
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        put(*output, ONE, into)
    }
}
