//! The range of two-speed motors.

use trunnion::propel::{TwoSpeed, TwoSpeedConfig, TwoSpeedInputs};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::{TICK, millis, permille};

/// Up below 200 ‰ of turning, down below 500 ‰ of speed, 1 s between shifts.
pub struct Block(TwoSpeed);

impl Subject for Block {
    const NAME: &'static str = "propel/two_speed";
    type Input = TwoSpeedInputs;
    type Output = bool;

    fn new() -> Self {
        Self(built!(TwoSpeed::new(
            TwoSpeedConfig {
                up_below_turning: permille(200),
                down_below_speed: permille(500),
                dwell: millis(1_000)
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&TwoSpeedInputs>) -> TwoSpeedInputs {
        TwoSpeedInputs {
            request: random.level(previous.map(|before| before.request), 60),
            permitted: random.level(previous.map(|before| before.permitted), 160),
            turning: random.ratio(previous.map(|before| before.turning)),
            speed: random.ratio(previous.map(|before| before.speed)),
        }
    }

    fn step(&mut self, input: &TwoSpeedInputs) -> bool {
        self.0.step(*input)
    }
}

impl Spelled for TwoSpeedInputs {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.request.spell(into, at);
        let at = self.permitted.spell(into, at);
        let at = self.turning.spell(into, at);
        self.speed.spell(into, at)
    }
}
