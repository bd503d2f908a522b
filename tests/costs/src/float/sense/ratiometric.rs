//! A sensor whose voltage is a share of its own supply, in `f32`.

use trunnion::sense::{Flaw, Reading};

use crate::float::number::{ONE, held};
use crate::float::sensed::put;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::ratiometric::Block;

/// Shares of the supply, and mV.
pub struct Twin {
    low_fault: f32,
    low: f32,
    span: f32,
    high_fault: f32,
    supply_low: f32,
    supply_high: f32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (f32, f32);
    type Output = Reading<f32>;

    // The share is rounded to 2⁻²⁴, the limits of the span likewise; a signal at a limit divides to exactly the float of the limit.
    const DISTANCE: &'static [f32] = &[0.0, 128.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self {
            low_fault: 0.04,
            low: 0.1,
            span: 0.8,
            high_fault: 0.96,
            supply_low: 4_750.0,
            supply_high: 5_250.0,
        }
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] as f32, words[1] as f32)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (signal, supply) = *input;
        if supply < self.supply_low || supply > self.supply_high {
            return Reading::Faulted(Flaw::SensorSupply);
        }
        let share = signal / supply;
        if share < self.low_fault {
            Reading::Faulted(Flaw::WireBreak)
        } else if share > self.high_fault {
            Reading::Faulted(Flaw::ShortCircuit)
        } else {
            Reading::Valid(held((share - self.low) / self.span, 0.0, 1.0))
        }
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        put(*output, ONE, into)
    }
}
