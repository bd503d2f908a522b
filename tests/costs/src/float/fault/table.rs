//! What is active of the declared faults of a machine, their times in `f32`.

use trunnion::declare::{FaultSet, Latch, Reactions};

use crate::float::sensed::TICK;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::fault::table::Block;
use crate::subject::fault::table::Fault;

#[derive(Clone, Copy, Default)]
struct Row {
    set_after: f32,
    clear_after: f32,
    active: bool,
    waited: f32,
}

/// Times in ms.
pub struct Twin {
    rows: [Row; Fault::COUNT],
}

impl Row {
    fn step(&mut self, latch: Latch, condition: bool, all_neutral: bool) {
        if condition == self.active {
            self.waited = 0.0;
            return;
        }
        let needed = if condition { self.set_after } else { self.clear_after };
        if self.waited < needed {
            self.waited += TICK;
            return;
        }
        let released = match latch {
            Latch::WhilePresent => true,
            Latch::UntilNeutral => all_neutral,
            Latch::UntilRestart => false,
        };
        if condition || released {
            self.active = condition;
            self.waited = 0.0;
        }
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = ([bool; Fault::COUNT], bool);
    type Output = (Reactions, u8, u8);

    // Times in ms are exact, so every step decides as the block does.
    const DISTANCE: &'static [f32] = &[0.0, 0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        let mut rows = [Row::default(); Fault::COUNT];
        for (row, rule) in rows.iter_mut().zip(Fault::RULES) {
            row.set_after = rule.set_after.ticks() as f32;
            row.clear_after = rule.clear_after.ticks() as f32;
        }
        Self { rows }
    }

    fn input(words: &Words) -> Self::Input {
        let mut conditions = [false; Fault::COUNT];
        for (condition, word) in conditions.iter_mut().zip(&words[1..]) {
            *condition = *word != 0;
        }
        (conditions, words[0] != 0)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let (mut reactions, mut blink, mut count) = (Reactions::NONE, 0, 0_u8);
        for ((row, rule), condition) in self.rows.iter_mut().zip(Fault::RULES).zip(&input.0) {
            row.step(rule.latch, *condition, input.1);
            if row.active {
                reactions = reactions.union(rule.reactions);
                count = count.saturating_add(1);
                if blink == 0 || rule.blink < blink {
                    blink = rule.blink;
                }
            }
        }
        (reactions, blink, count)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0.0.into();
        into[1] = output.1.into();
        into[2] = output.2.into();
        3
    }
}
