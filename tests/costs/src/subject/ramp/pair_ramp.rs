//! The drive ramp: both sides as a pair.

use crate::subject::{TICK, measured, millis};
use trunnion::propel::Sides;
use trunnion::ramp::{MotionPhase, MotionRates, MotionState, PairRamp, PairRampConfig, StopRequest};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// The times of the loader, but for a dwell of 100 ms.
pub struct Block(PairRamp);

const CONFIG: PairRampConfig = PairRampConfig {
    forward: rates(1800, 1200, 1000),
    reverse: rates(2000, 1300, 1100),
    rotation: rates(1300, 800, 700),
    stop: millis(1000),
    dwell: millis(100),
};

const fn rates(accelerate: u32, decelerate: u32, reverse: u32) -> MotionRates {
    MotionRates { accelerate: millis(accelerate), decelerate: millis(decelerate), reverse: millis(reverse) }
}

impl Subject for Block {
    const NAME: &'static str = "ramp/pair_ramp";
    type Input = (Sides, StopRequest);
    type Output = (Sides, MotionPhase, MotionState);

    fn new() -> Self {
        Self(built!(PairRamp::new(CONFIG, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let stop = !measured::mostly(random, previous.map(|(_, stop)| *stop == StopRequest::None), 400, 80);
        let stop = if stop { StopRequest::Controlled } else { StopRequest::None };
        if let Some((sides, _)) = previous
            && random.below(16) != 0
        {
            return (*sides, stop);
        }
        let previous = previous.map(|(sides, _)| sides);
        let sides = Sides {
            left: random.ratio(previous.map(|sides| sides.left)),
            right: random.ratio(previous.map(|sides| sides.right)),
        };
        // Levers rest at straight and spin more often than chance has it.
        let sides = match random.below(16) {
            0 => Sides::straight(sides.left),
            1 => Sides::spin(sides.left),
            2 => Sides::ZERO,
            _ => sides,
        };
        (sides, stop)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let ramped = self.0.step(input.0, input.1);
        (ramped, self.0.phase(), self.0.state())
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.left.to_bits();
        into[1] = input.0.right.to_bits();
        into[2] = input.1 as i32;
        3
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.left.to_bits();
        into[1] = output.0.right.to_bits();
        into[2] = output.1 as i32;
        into[3] = output.2 as i32;
        4
    }
}
