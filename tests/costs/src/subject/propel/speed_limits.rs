//! Largest speeds forward, reverse and in rotation.

use trunnion::propel::{SpeedLimits, SpeedLimitsConfig};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// 1000, 700, 500 ‰.
pub struct Block(SpeedLimits);

impl Subject for Block {
    const NAME: &'static str = "propel/speed_limits";
    type Input = (Ratio, Ratio);
    type Output = (Ratio, Ratio);

    fn new() -> Self {
        Self(built!(SpeedLimits::new(SpeedLimitsConfig {
            forward: permille(1_000),
            reverse: permille(700),
            rotation: permille(500)
        })))
    }

    fn input(random: &mut Random, previous: Option<&(Ratio, Ratio)>) -> (Ratio, Ratio) {
        (random.ratio(previous.map(|before| before.0)), random.ratio(previous.map(|before| before.1)))
    }

    fn step(&mut self, input: &(Ratio, Ratio)) -> (Ratio, Ratio) {
        self.0.step(input.0, input.1)
    }
}
