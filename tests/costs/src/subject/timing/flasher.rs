//! A lamp that is steady, or flashes.

use trunnion::timing::{Flasher, FlasherConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// 300 ms lit, 300 ms dark.
pub struct Block(Flasher);

impl Subject for Block {
    const NAME: &'static str = "timing/flasher";
    type Input = bool;
    type Output = bool;

    fn new() -> Self {
        Self(built!(Flasher::new(FlasherConfig { half: millis(300) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 100)
    }

    fn step(&mut self, flashing: &bool) -> bool {
        self.0.step(*flashing)
    }

    fn input_words(flashing: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*flashing);
        1
    }

    fn output_words(lit: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*lit);
        1
    }
}
