//! No motion before the levers were let go of.

use trunnion::guard::{NeutralStart, NeutralStartConfig, NeutralStartInputs, StartPhase};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// Neutral for 300 ms and three frames.
pub struct Block(NeutralStart);

impl Subject for Block {
    const NAME: &'static str = "guard/neutral_start";
    type Input = NeutralStartInputs;
    /// The phase, and whether the operator must ask.
    type Output = (StartPhase, bool);

    fn new() -> Self {
        Self(built!(NeutralStart::new(NeutralStartConfig { hold: millis(300), frames: 3 }, TICK)))
    }

    /// Conditions come back after a moment; the levers are released now and then; frames in every second period.
    fn input(random: &mut Random, previous: Option<&NeutralStartInputs>) -> NeutralStartInputs {
        let before = previous.copied();
        let mut turns = |level: fn(&NeutralStartInputs) -> bool, true_for, false_for| {
            let level = before.as_ref().map(level);
            random.level(level, if level == Some(true) { true_for } else { false_for })
        };
        let conditions = turns(|inputs| inputs.conditions, 400, 20);
        let neutral = turns(|inputs| inputs.neutral, 80, 40);
        let ask = turns(|inputs| inputs.ask, 5, 30);
        let ask_required = turns(|inputs| inputs.ask_required, 5, 300);
        NeutralStartInputs { conditions, neutral, new_frame: random.once_in(2), ask, ask_required }
    }

    fn step(&mut self, inputs: &NeutralStartInputs) -> Self::Output {
        let phase = self.0.step(*inputs);
        (phase, self.0.must_ask())
    }

    fn input_words(inputs: &NeutralStartInputs, into: &mut Words) -> usize {
        let NeutralStartInputs { conditions, neutral, new_frame, ask, ask_required } = *inputs;
        let levels = [conditions, neutral, new_frame, ask, ask_required];
        for (word, level) in into.iter_mut().zip(levels) {
            *word = i32::from(level);
        }
        levels.len()
    }

    fn output_words((phase, must_ask): &Self::Output, into: &mut Words) -> usize {
        into[0] = *phase as i32;
        into[1] = i32::from(*must_ask);
        2
    }
}
