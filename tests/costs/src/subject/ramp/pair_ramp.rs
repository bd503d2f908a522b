//! A ramp of both sides together.

use trunnion::propel::Sides;
use trunnion::ramp::{MotionRates, PairRamp, PairRampConfig, StopRequest};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::{Spelled, put};
use crate::subject::{TICK, millis};

/// 1000, 600, 500 ms; stops in 400 ms; 100 ms of rest before it turns round.
pub struct Block(PairRamp);

impl Subject for Block {
    const NAME: &'static str = "ramp/pair_ramp";
    type Input = Target;
    type Output = Sides;

    fn new() -> Self {
        const RATES: MotionRates =
            MotionRates { accelerate: millis(1_000), decelerate: millis(600), reverse: millis(500) };
        Self(built!(PairRamp::new(
            PairRampConfig {
                forward: RATES,
                reverse: RATES,
                rotation: RATES,
                stop: millis(400),
                dwell: millis(100)
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Target>) -> Target {
        Target {
            sides: Sides {
                left: random.ratio(previous.map(|before| before.sides.left)),
                right: random.ratio(previous.map(|before| before.sides.right)),
            },
            stop: match (previous, random.once_in(40)) {
                (Some(Target { stop: StopRequest::None, .. }) | None, true) => StopRequest::Controlled,
                (_, true) | (None, _) => StopRequest::None,
                (Some(before), false) => before.stop,
            },
        }
    }

    fn step(&mut self, input: &Target) -> Sides {
        self.0.step(input.sides, input.stop)
    }
}

/// What is asked for.
#[derive(Clone, Copy)]
pub struct Target {
    sides: Sides,
    stop: StopRequest,
}

impl Spelled for Target {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.sides.spell(into, at);
        put(into, at, self.stop as i32)
    }
}
