//! Levers were let go of, and motion was asked for.

use trunnion::guard::{NeutralStart, NeutralStartConfig, NeutralStartInputs, StartPhase};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::{TICK, millis};

/// 300 ms, three frames.
pub struct Block(NeutralStart);

impl Subject for Block {
    const NAME: &'static str = "guard/neutral_start";
    type Input = NeutralStartInputs;
    type Output = StartPhase;

    fn new() -> Self {
        Self(built!(NeutralStart::new(NeutralStartConfig { hold: millis(300), frames: 3 }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&NeutralStartInputs>) -> NeutralStartInputs {
        NeutralStartInputs {
            conditions: random.level(previous.map(|before| before.conditions), 128),
            neutral: random.level(previous.map(|before| before.neutral), 48),
            new_frame: !random.once_in(4),
            ask: random.once_in(16),
            ask_required: random.level(previous.map(|before| before.ask_required), 256),
        }
    }

    fn step(&mut self, input: &NeutralStartInputs) -> StartPhase {
        self.0.step(*input)
    }
}

impl Spelled for NeutralStartInputs {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.conditions.spell(into, at);
        let at = self.neutral.spell(into, at);
        let at = self.new_frame.spell(into, at);
        let at = self.ask.spell(into, at);
        self.ask_required.spell(into, at)
    }
}
