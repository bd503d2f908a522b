//! Less drive before the engine stalls.

use trunnion::propel::{AntiStall, AntiStallConfig};
use trunnion::quantity::{Ratio, Rpm};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis, permille};

/// From 80 ‰ of droop, 200 ‰ at 250 ‰, back in 1 s.
pub struct Block(AntiStall);

impl Subject for Block {
    const NAME: &'static str = "propel/anti_stall";
    type Input = (Rpm, Reading<Rpm>);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(AntiStall::new(
            AntiStallConfig {
                begin: permille(80),
                full: permille(250),
                floor: permille(200),
                recovery: millis(1_000)
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&(Rpm, Reading<Rpm>)>) -> (Rpm, Reading<Rpm>) {
        let expected = random.quantity(previous.map(|before| before.0), 6_400, 20_000);
        (expected, random.reading(previous.map(|before| before.1), 5_000, 20_000))
    }

    fn step(&mut self, input: &(Rpm, Reading<Rpm>)) -> Ratio {
        self.0.step(input.0, input.1)
    }
}
