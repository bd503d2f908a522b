//! Drive and steer to both sides, by the blended law.

use trunnion::propel::{MixLaw, Mixer, MixerConfig, ReverseConvention, Sides};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// Pivot at 500 ‰, reverse follows the path.
pub struct Block(Mixer);

impl Subject for Block {
    const NAME: &'static str = "propel/mixer_blended";
    type Input = (Ratio, Ratio, Ratio);
    type Output = Sides;

    fn new() -> Self {
        Self(built!(Mixer::new(MixerConfig {
            law: MixLaw::Blended,
            pivot_point: permille(500),
            pivot_band: permille(100),
            sensitivity: permille(1_000),
            blend_drive: permille(300),
            convention: ReverseConvention::PathFollowing,
            reverse_blend: permille(100)
        })))
    }

    fn input(random: &mut Random, previous: Option<&(Ratio, Ratio, Ratio)>) -> (Ratio, Ratio, Ratio) {
        (
            random.ratio(previous.map(|before| before.0)),
            random.ratio(previous.map(|before| before.1)),
            random.ratio(previous.map(|before| before.2)),
        )
    }

    fn step(&mut self, input: &(Ratio, Ratio, Ratio)) -> Sides {
        self.0.step(input.0, input.1, input.2)
    }
}
