//! Drive and steer to left and right by the law in bands, in `f32`.

use super::mixer::{Mixer, MixerConfig};
use crate::float::number::{ONE, share};
use crate::float::sides::Sides;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::mixer_banded::Block;

/// The block with the configuration of its subject.
pub struct Twin(Mixer);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = [f32; 3];
    type Output = Sides;

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0, 1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(Mixer::with(MixerConfig {
            banded: true,
            yaw_fixed: false,
            pivot_point: 0.5,
            pivot_band: 0.1,
            sensitivity: 0.7,
            blend_drive: 0.2,
            reverse_blend: 0.15,
        }))
    }

    fn input(words: &Words) -> Self::Input {
        [share(words[0]), share(words[1]), share(words[2])]
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let [drive, steer, travel] = *input;
        self.0.step(drive, steer, travel)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.left * ONE;
        into[1] = output.right * ONE;
        2
    }
}
