//! The machine stands.

use trunnion::guard::{Standstill, StandstillConfig};
use trunnion::quantity::Rpm;
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis, rpm};

/// Below 10 rpm for 100 ms.
pub struct Block(Standstill);

impl Subject for Block {
    const NAME: &'static str = "guard/standstill";
    type Input = (bool, Reading<Rpm>, Reading<Rpm>);
    type Output = bool;

    fn new() -> Self {
        Self(built!(Standstill::new(StandstillConfig { band: rpm(10), hold: millis(100) }, TICK)))
    }

    fn input(
        random: &mut Random,
        previous: Option<&(bool, Reading<Rpm>, Reading<Rpm>)>,
    ) -> (bool, Reading<Rpm>, Reading<Rpm>) {
        let stopped = random.level(previous.map(|before| before.0), 60);
        let widest = if stopped { 88 } else { 20_000 };
        (
            stopped,
            random.reading(previous.map(|before| before.1), -widest, widest),
            random.reading(previous.map(|before| before.2), -widest, widest),
        )
    }

    fn step(&mut self, input: &(bool, Reading<Rpm>, Reading<Rpm>)) -> bool {
        self.0.step(input.0, input.1, input.2)
    }
}
