//! A coil that is either on or off, and cooler when on, in `f32`.

use crate::float::number::{Reading, reading, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::valve::peak_and_hold::Block;

/// The configuration, resolved to a step, and the state.
pub struct PeakAndHold {
    peak: u32,
    hold: f32,
    lowest_supply: f32,
    highest_supply: f32,
    peak_left: u32,
}

impl PeakAndHold {
    /// The peak in steps, voltages in mV.
    pub(crate) fn with(peak: u32, hold: f32, lowest_supply: f32, highest_supply: f32) -> Self {
        Self { peak, hold, lowest_supply, highest_supply, peak_left: peak }
    }

    /// The duty, 0 to 1.
    pub(crate) fn step(&mut self, on: bool, supply: Reading) -> f32 {
        let supply = smaller(supply.unwrap_or(self.highest_supply), self.highest_supply);
        if !on {
            self.peak_left = self.peak;
            return 0.0;
        }
        if supply < self.lowest_supply {
            self.peak_left = self.peak;
            return 1.0;
        }
        if self.peak_left > 0 {
            self.peak_left -= 1;
            return 1.0;
        }
        self.hold / supply
    }
}

/// The block with the configuration of its subject.
pub struct Twin(PeakAndHold);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (bool, Reading);
    type Output = f32;

    // The block gives whole hundredths of a percent.
    const DISTANCE: &'static [f32] = &[0.51];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(PeakAndHold::with(150, 4000.0, 8000.0, 16_000.0))
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] != 0, reading(words[1], words[2] as f32))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * 10_000.0;
        1
    }
}
