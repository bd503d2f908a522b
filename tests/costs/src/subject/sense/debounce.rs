//! A contact without its bounces.

use trunnion::sense::{Debounce, DebounceConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// Closed after 50 ms, open after 100 ms.
pub struct Block(Debounce);

impl Subject for Block {
    const NAME: &'static str = "sense/debounce";
    type Input = bool;
    type Output = bool;

    fn new() -> Self {
        Self(built!(Debounce::new(DebounceConfig { set_after: millis(50), clear_after: millis(100) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 8)
    }

    fn step(&mut self, level: &bool) -> bool {
        self.0.step(*level)
    }

    fn input_words(level: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*level);
        1
    }

    fn output_words(level: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*level);
        1
    }
}
