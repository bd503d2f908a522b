//! Drive and steer to sides, by the law in bands.

use crate::subject::permille;
use trunnion::propel::{MixLaw, Mixer, MixerConfig, ReverseConvention, Sides};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Pivot at 500 ± 50 ‰, sensitivity 700 ‰, path-following beyond 150 ‰.
pub struct Block(Mixer);

impl Subject for Block {
    const NAME: &'static str = "propel/mixer_banded";
    type Input = [Ratio; 3];
    type Output = Sides;

    fn new() -> Self {
        Self(built!(Mixer::new(MixerConfig {
            law: MixLaw::Banded,
            pivot_point: permille(500),
            pivot_band: permille(100),
            sensitivity: permille(700),
            blend_drive: permille(200),
            convention: ReverseConvention::PathFollowing,
            reverse_blend: permille(150),
        })))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        core::array::from_fn(|place| random.ratio(previous.map(|ratios| ratios[place])))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let [drive, steer, travel] = *input;
        self.0.step(drive, steer, travel)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input[0].to_bits();
        into[1] = input[1].to_bits();
        into[2] = input[2].to_bits();
        3
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.left.to_bits();
        into[1] = output.right.to_bits();
        2
    }
}
