//! It runs while it is held.

use trunnion::guard::{HoldState, HoldToRun, HoldToRunConfig};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis, reading_words};

/// For 2 s at most.
pub struct Block(HoldToRun);

/// Whether it is permitted, and whether the control is held.
type Control = (bool, Reading<bool>);

impl Subject for Block {
    const NAME: &'static str = "guard/hold_to_run";
    type Input = Control;
    type Output = HoldState;

    fn new() -> Self {
        Self(built!(HoldToRun::new(HoldToRunConfig { longest: millis(2_000) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Control>) -> Control {
        let before = previous.copied();
        let lost_in = if before.is_some_and(|(permitted, _)| permitted) { 300 } else { 20 };
        let permitted = random.level(before.map(|control| control.0), lost_in);
        let held = measured::reading(random, before.map(|control| control.1), |random, held| {
            let turns_in = if held == Some(true) { 150 } else { 20 };
            random.level(held, turns_in)
        });
        (permitted, held)
    }

    fn step(&mut self, (permitted, held): &Control) -> HoldState {
        self.0.step(*permitted, *held)
    }

    fn input_words((permitted, held): &Control, into: &mut Words) -> usize {
        into[0] = i32::from(*permitted);
        reading_words::put(*held, i32::from, into, 1)
    }

    fn output_words(state: &HoldState, into: &mut Words) -> usize {
        into[0] = *state as i32;
        1
    }
}
