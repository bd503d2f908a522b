//! The range of two-speed motors.

use crate::subject::{TICK, measured, millis, permille};
use trunnion::propel::{TwoSpeed, TwoSpeedConfig, TwoSpeedInhibit, TwoSpeedInputs};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Up below a turning of 300 ‰, down below a speed of 600 ‰, dwell 500 ms.
pub struct Block(TwoSpeed);

impl Subject for Block {
    const NAME: &'static str = "propel/two_speed";
    type Input = TwoSpeedInputs;
    type Output = (bool, TwoSpeedInhibit);

    fn new() -> Self {
        Self(built!(TwoSpeed::new(
            TwoSpeedConfig {
                up_below_turning: permille(300),
                down_below_speed: permille(600),
                dwell: millis(500),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        TwoSpeedInputs {
            request: random.level(previous.map(|inputs| inputs.request), 60),
            permitted: measured::mostly(random, previous.map(|inputs| inputs.permitted), 300, 50),
            turning: random.ratio(previous.map(|inputs| inputs.turning)),
            speed: random.ratio(previous.map(|inputs| inputs.speed)),
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let high = self.0.step(*input);
        (high, self.0.why_inhibited())
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.request.into();
        into[1] = input.permitted.into();
        into[2] = input.turning.to_bits();
        into[3] = input.speed.to_bits();
        4
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.into();
        into[1] = output.1 as i32;
        2
    }
}
