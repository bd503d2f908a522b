//! Lets the boom follow the ground.

use trunnion::work::{Float, FloatConfig, FloatInputs};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::permille;

/// Left by raising beyond 100 ‰.
pub struct Block(Float);

impl Subject for Block {
    const NAME: &'static str = "work/float";
    type Input = FloatInputs;
    type Output = bool;

    fn new() -> Self {
        Self(built!(Float::new(FloatConfig { raise: permille(100) })))
    }

    fn input(random: &mut Random, previous: Option<&FloatInputs>) -> FloatInputs {
        FloatInputs {
            request: random.once_in(12),
            lever: random.ratio(previous.map(|before| before.lever)),
            permitted: random.level(previous.map(|before| before.permitted), 60),
        }
    }

    fn step(&mut self, input: &FloatInputs) -> bool {
        self.0.step(*input)
    }
}

impl Spelled for FloatInputs {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.request.spell(into, at);
        let at = self.lever.spell(into, at);
        self.permitted.spell(into, at)
    }
}
