//! Less drive before the engine stalls, in `f32`; speeds in rpm.

use crate::float::number::{ONE, Reading, held, larger, reading, rpm, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::anti_stall::Block;

/// Less drive before the engine stalls.
pub struct AntiStall {
    begin: f32,
    width: f32,
    floor: f32,
    recovery: f32,
    share: f32,
}

impl AntiStall {
    /// Shares of one; the time to recover in ms.
    pub(crate) fn with(begin: f32, full: f32, floor: f32, recovery: f32) -> Self {
        Self { begin, width: full - begin, floor, recovery: 10.0 / recovery, share: 1.0 }
    }

    pub(crate) fn step(&mut self, expected: f32, actual: Reading) -> f32 {
        let allowed = match actual {
            Some(actual) if expected > 0.0 => {
                let droop = (expected - actual) / expected;
                let reduction = held((droop - self.begin) / self.width, 0.0, 1.0);
                1.0 - (1.0 - self.floor) * reduction
            }
            _ => self.floor,
        };
        self.share = larger(smaller(smaller(allowed, self.share + self.recovery), 1.0), self.floor);
        self.share
    }
}

/// The block with the configuration of its subject.
pub struct Twin(AntiStall);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (f32, Reading);
    type Output = f32;

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(AntiStall::with(0.12, 0.3, 0.15, 1500.0))
    }

    fn input(words: &Words) -> Self::Input {
        (rpm(words[0]), reading(words[1], rpm(words[2])))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output * ONE;
        1
    }
}
