//! A ramp of one command.

use trunnion::quantity::Ratio;
use trunnion::ramp::{RateLimit, RateLimitConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// Rise 600 ms, fall 300 ms.
pub struct Block(RateLimit);

impl Subject for Block {
    const NAME: &'static str = "ramp/rate_limit";
    type Input = Ratio;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(RateLimit::new(RateLimitConfig { rise: millis(600), fall: millis(300) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        random.ratio(previous.copied())
    }

    fn step(&mut self, target: &Ratio) -> Ratio {
        self.0.step(*target)
    }

    fn input_words(target: &Ratio, into: &mut Words) -> usize {
        into[0] = target.to_bits();
        1
    }

    fn output_words(limited: &Ratio, into: &mut Words) -> usize {
        into[0] = limited.to_bits();
        1
    }
}
