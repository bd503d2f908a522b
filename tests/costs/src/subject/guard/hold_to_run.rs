//! The control is held, and was pressed for it.

use trunnion::guard::{HoldState, HoldToRun, HoldToRunConfig};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis};

/// At most 2 s.
pub struct Block(HoldToRun);

impl Subject for Block {
    const NAME: &'static str = "guard/hold_to_run";
    type Input = (bool, Reading<bool>);
    type Output = HoldState;

    fn new() -> Self {
        Self(built!(HoldToRun::new(HoldToRunConfig { longest: millis(2_000) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&(bool, Reading<bool>)>) -> (bool, Reading<bool>) {
        (
            random.level(previous.map(|before| before.0), 100),
            random.reading(previous.map(|before| before.1), 0, 1),
        )
    }

    fn step(&mut self, input: &(bool, Reading<bool>)) -> HoldState {
        self.0.step(input.0, input.1)
    }
}
