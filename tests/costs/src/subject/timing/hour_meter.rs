//! For how long something ran over the life of the machine.

use trunnion::timing::{HourMeter, Seconds};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::TICK;

/// From 3599 s on.
pub struct Block(HourMeter);

impl Subject for Block {
    const NAME: &'static str = "timing/hour_meter";
    type Input = bool;
    type Output = (bool, u32);

    fn new() -> Self {
        Self(const { HourMeter::new(Seconds::from_ticks(3_599), TICK) })
    }

    fn input(random: &mut Random, previous: Option<&bool>) -> bool {
        random.level(previous.copied(), 400)
    }

    fn step(&mut self, input: &bool) -> (bool, u32) {
        (self.0.step(*input), self.0.total().ticks())
    }
}
