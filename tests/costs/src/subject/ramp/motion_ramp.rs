//! A ramp of one motion, its times by direction and phase.

use crate::subject::{TICK, millis};
use trunnion::quantity::Ratio;
use trunnion::ramp::{MotionPhase, MotionRamp, MotionRampConfig, MotionRates, MotionState};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Positive 350, 200 and 150 ms to accelerate, decelerate and reverse; negative 450, 250 and 180 ms; dwell 50 ms.
pub struct Block(MotionRamp);

const CONFIG: MotionRampConfig =
    MotionRampConfig { positive: rates(350, 200, 150), negative: rates(450, 250, 180), dwell: millis(50) };

const fn rates(accelerate: u32, decelerate: u32, reverse: u32) -> MotionRates {
    MotionRates { accelerate: millis(accelerate), decelerate: millis(decelerate), reverse: millis(reverse) }
}

impl Subject for Block {
    const NAME: &'static str = "ramp/motion_ramp";
    type Input = Ratio;
    type Output = (Ratio, MotionPhase, MotionState);

    fn new() -> Self {
        Self(built!(MotionRamp::new(CONFIG, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        random.ratio(previous.copied())
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let ramped = self.0.step(*input);
        (ramped, self.0.phase(), self.0.state())
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.to_bits();
        1
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.to_bits();
        into[1] = output.1 as i32;
        into[2] = output.2 as i32;
        3
    }
}
