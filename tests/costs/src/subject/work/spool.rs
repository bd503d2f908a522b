//! Spreads the lever over the allowed opening.

use trunnion::quantity::Ratio;
use trunnion::work::{Spool, SpoolConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// 1000 and 700 ‰.
pub struct Block(Spool);

impl Subject for Block {
    const NAME: &'static str = "work/spool";
    type Input = (Ratio, Ratio);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(Spool::new(SpoolConfig { positive: permille(1_000), negative: permille(700) })))
    }

    fn input(random: &mut Random, previous: Option<&(Ratio, Ratio)>) -> (Ratio, Ratio) {
        (
            random.ratio(previous.map(|before| before.0)),
            random.quantity(previous.map(|before| before.1), 0, Ratio::ONE.to_bits()),
        )
    }

    fn step(&mut self, input: &(Ratio, Ratio)) -> Ratio {
        self.0.step(input.0, input.1)
    }
}
