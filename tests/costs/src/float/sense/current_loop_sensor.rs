//! A transmitter with a 4–20 mA output in `f32`.

use trunnion::sense::{Flaw, Reading};

use crate::float::number::{ONE, held};
use crate::float::sensed::put;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::current_loop_sensor::Block;

/// Shunt in Ω, currents in mA.
pub struct Twin {
    shunt: f32,
    low_fault: f32,
    low: f32,
    span: f32,
    high_fault: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = Reading<f32>;

    // The current is rounded to 2⁻²⁰ mA, 2⁻²⁴ of the span; a drop at a limit divides to exactly the float of the limit.
    const DISTANCE: &'static [f32] = &[0.0, 128.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self { shunt: 250.0, low_fault: 3.6, low: 4.0, span: 16.0, high_fault: 21.0 }
    }

    fn input(words: &Words) -> Self::Input {
        words[0] as f32
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let current = input / self.shunt;
        if current < self.low_fault {
            Reading::Faulted(Flaw::WireBreak)
        } else if current > self.high_fault {
            Reading::Faulted(Flaw::ShortCircuit)
        } else {
            Reading::Valid(held((current - self.low) / self.span, 0.0, 1.0))
        }
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        put(*output, ONE, into)
    }
}
