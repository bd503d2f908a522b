//! A coil that is on or off: pulled in, then held.

use trunnion::quantity::{Duty, Millivolts};
use trunnion::valve::{PeakAndHold, PeakAndHoldConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis, millivolts};

/// 20 ms, held by 5 V; 9 V to 16 V.
pub struct Block(PeakAndHold);

impl Subject for Block {
    const NAME: &'static str = "valve/peak_and_hold";
    type Input = (bool, Option<Millivolts>);
    type Output = Duty;

    fn new() -> Self {
        Self(built!(PeakAndHold::new(
            PeakAndHoldConfig {
                peak: millis(20),
                hold: millivolts(5_000),
                lowest_supply: millivolts(9_000),
                highest_supply: millivolts(16_000)
            },
            TICK
        )))
    }

    fn input(
        random: &mut Random,
        previous: Option<&(bool, Option<Millivolts>)>,
    ) -> (bool, Option<Millivolts>) {
        let supply = random.quantity(previous.and_then(|before| before.1), 7_000, 17_000);
        (random.level(previous.map(|before| before.0), 20), random.perhaps(supply, 32))
    }

    fn step(&mut self, input: &(bool, Option<Millivolts>)) -> Duty {
        self.0.step(input.0, input.1)
    }
}
