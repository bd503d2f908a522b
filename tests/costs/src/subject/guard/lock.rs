//! The operator's own lock.

use trunnion::guard::{Lock, LockConfig, LockStart, LockState};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis, reading_words};

/// Levers neutral for 300 ms; a switch found at "unlocked" must be moved.
pub struct Block(Lock);

/// Whether the switch stands at "unlocked", and whether the levers are released.
type Switch = (Reading<bool>, bool);

impl Subject for Block {
    const NAME: &'static str = "guard/lock";
    type Input = Switch;
    type Output = LockState;

    fn new() -> Self {
        Self(built!(Lock::new(LockConfig { hold: millis(300), start: LockStart::MustCycle }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&Switch>) -> Switch {
        let unlock = measured::reading(random, previous.map(|switch| switch.0), |random, unlock| {
            random.level(unlock, if unlock == Some(true) { 200 } else { 30 })
        });
        (unlock, random.level(previous.map(|switch| switch.1), 60))
    }

    fn step(&mut self, (unlock, neutral): &Switch) -> LockState {
        self.0.step(*unlock, *neutral)
    }

    fn input_words((unlock, neutral): &Switch, into: &mut Words) -> usize {
        let next = reading_words::put(*unlock, i32::from, into, 0);
        into[2] = i32::from(*neutral);
        next.wrapping_add(1)
    }

    fn output_words(state: &LockState, into: &mut Words) -> usize {
        into[0] = *state as i32;
        1
    }
}
