//! Which way a wheel turns, by two pulse trains a quarter apart.

use trunnion::sense::{Reading, TurnDirection, TwoPhaseDirection, TwoPhaseDirectionConfig};

use crate::random::Random;
use crate::scale::Subject;

/// Three edges the same way, eight to and fro.
pub struct Block(TwoPhaseDirection);

impl Subject for Block {
    const NAME: &'static str = "sense/two_phase_direction";
    type Input = (bool, bool);
    type Output = Reading<TurnDirection>;

    fn new() -> Self {
        Self(built!(TwoPhaseDirection::new(TwoPhaseDirectionConfig { confirm: 3, stuck_after: 8 })))
    }

    fn input(random: &mut Random, previous: Option<&(bool, bool)>) -> (bool, bool) {
        let Some(&(first, second)) = previous else { return (false, false) };
        match random.below(32) {
            0 => (!first, !second),
            1..=4 => (second, !first),
            5..=16 => (first, second),
            _ => (!second, first),
        }
    }

    fn step(&mut self, input: &(bool, bool)) -> Reading<TurnDirection> {
        self.0.step(input.0, input.1)
    }
}
