//! Which current a command asks for.

use trunnion::quantity::{Milliamps, Ratio};
use trunnion::valve::{CurrentMap, CurrentMapConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::milliamps;

/// 280 mA to 700 mA.
pub struct Block(CurrentMap);

impl Subject for Block {
    const NAME: &'static str = "valve/current_map";
    type Input = Ratio;
    type Output = Milliamps;

    fn new() -> Self {
        Self(built!(CurrentMap::new(CurrentMapConfig { threshold: milliamps(280), end: milliamps(700) })))
    }

    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        random.ratio(previous.copied())
    }

    fn step(&mut self, input: &Ratio) -> Milliamps {
        self.0.step(*input)
    }
}
