//! Two opposite coils in the fast loop, in `f32`.

use super::coil::{Coil, pump};
use super::pair_exclusion::PairExclusion;
use crate::float::number::{Reading, reading};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::valve::coil_pair::Block;

/// Never both driven.
pub struct CoilPair {
    a: Coil,
    b: Coil,
    exclusion: PairExclusion,
}

impl CoilPair {
    /// One step; set-points and measured currents in mA, the duties 0 to 1.
    pub(crate) fn step(&mut self, set: (f32, f32), measured: (f32, f32), supply: Reading) -> (f32, f32) {
        let set = self.exclusion.step(set, measured);
        (self.a.step(set.0, measured.0, supply), self.b.step(set.1, measured.1, supply))
    }
}

/// The block with the configuration of its subject.
pub struct Twin(CoilPair);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = ([(f32, f32); 2], Reading);
    type Output = (f32, f32);

    // One percent of duty: the block compares reference and measurement in whole mA and sums what is missing, up to 0.9 mV
    // a step at these gains, and learns the resistance from whole 10 µV; the twin has no such steps. Farther off for a
    // while where the integral is let go of, or held at a limit, a step apart.
    const DISTANCE: &'static [f32] = &[100.0, 100.0];
    const APART_IN_A_MILLION: u32 = 50_000;

    fn new() -> Self {
        Self(CoilPair { a: pump(), b: pump(), exclusion: PairExclusion::with(80.0, 20) })
    }

    fn input(words: &Words) -> Self::Input {
        (
            [(words[0] as f32, words[1] as f32), (words[2] as f32, words[3] as f32)],
            reading(words[4], words[5] as f32),
        )
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let ([set, measured], supply) = *input;
        self.0.step(set, measured, supply)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0 * 10_000.0;
        into[1] = output.1 * 10_000.0;
        2
    }
}
