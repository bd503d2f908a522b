//! Whether frames keep coming.

use trunnion::sense::{Freshness, FreshnessConfig, FreshnessState};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// Lost after 100 ms, never seen after 2 s.
pub struct Block(Freshness);

impl Subject for Block {
    const NAME: &'static str = "sense/freshness";
    type Input = bool;
    type Output = FreshnessState;

    fn new() -> Self {
        Self(built!(Freshness::new(FreshnessConfig { time_out: millis(100), start_up: millis(2_000) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 6)
    }

    fn step(&mut self, input: &bool) -> FreshnessState {
        self.0.step(*input)
    }
}
