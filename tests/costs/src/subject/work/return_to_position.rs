//! Brings a cylinder to a set position and stops there.

use trunnion::quantity::Ratio;
use trunnion::work::{ReturnInputs, ReturnToPosition, ReturnToPositionConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::{TICK, millis, permille};

/// To 800 ‰ within 10 ‰, slower from 210 ‰ on, at most 8 s.
pub struct Block(ReturnToPosition);

impl Subject for Block {
    const NAME: &'static str = "work/return_to_position";
    type Input = ReturnInputs;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(ReturnToPosition::new(
            ReturnToPositionConfig {
                position: permille(800),
                window: permille(10),
                approach: permille(210),
                speed: permille(900),
                end_speed: permille(100),
                neutral: permille(50),
                time_out: millis(8_000)
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&ReturnInputs>) -> ReturnInputs {
        let lever = random.ratio(previous.map(|before| before.lever));
        ReturnInputs {
            permitted: random.level(previous.map(|before| before.permitted), 120),
            request: random.once_in(20),
            lever: if random.once_in(3) { lever } else { Ratio::ZERO },
            position: random.share(previous.map(|before| before.position)),
        }
    }

    fn step(&mut self, input: &ReturnInputs) -> Ratio {
        self.0.step(*input)
    }
}

impl Spelled for ReturnInputs {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.permitted.spell(into, at);
        let at = self.request.spell(into, at);
        let at = self.lever.spell(into, at);
        self.position.spell(into, at)
    }
}
