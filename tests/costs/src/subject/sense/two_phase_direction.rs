//! The direction and the position of a wheel with two pulse sensors.

use trunnion::sense::{Reading, TurnDirection, TwoPhaseDirection, TwoPhaseDirectionConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::reading_words;

/// Three edges make a direction, eight to and fro unmake it.
pub struct Block(TwoPhaseDirection);

/// The levels of both phases.
#[derive(Clone, Copy)]
pub struct Phases {
    first: bool,
    second: bool,
    /// Quarters of a tooth.
    place: i32,
    /// Quarters per step.
    way: i32,
    /// The second phase is dead.
    dead: bool,
}

impl Subject for Block {
    const NAME: &'static str = "sense/two_phase_direction";
    type Input = Phases;
    /// The direction, and the position in edges.
    type Output = (Reading<TurnDirection>, i32);

    fn new() -> Self {
        Self(built!(TwoPhaseDirection::new(TwoPhaseDirectionConfig { confirm: 3, stuck_after: 8 })))
    }

    /// Turns, stands, turns back; now and then an edge is missed, or a phase is dead for a while.
    fn input(random: &mut Random, previous: Option<&Phases>) -> Phases {
        let mut after = previous.copied().unwrap_or(Phases {
            first: false,
            second: false,
            place: random.between(0, 3),
            way: 1,
            dead: false,
        });
        if random.once_in(25) {
            after.way = random.between(-1, 1);
        }
        after.dead = after.dead != random.once_in(if after.dead { 60 } else { 600 });
        let missed = if random.once_in(200) { 2 } else { 1 };
        if random.once_in(2) {
            after.place = after.place.wrapping_add(after.way.wrapping_mul(missed)) & 3;
        }
        after.first = after.place == 1 || after.place == 2;
        if !after.dead {
            after.second = after.place >= 2;
        }
        after
    }

    fn step(&mut self, phases: &Phases) -> Self::Output {
        (self.0.step(phases.first, phases.second), self.0.edges())
    }

    fn input_words(phases: &Phases, into: &mut Words) -> usize {
        into[0] = phases.first.into();
        into[1] = phases.second.into();
        2
    }

    fn output_words((direction, edges): &Self::Output, into: &mut Words) -> usize {
        let next = reading_words::put(*direction, |direction| direction as i32, into, 0);
        into[2] = *edges;
        next.wrapping_add(1)
    }
}
