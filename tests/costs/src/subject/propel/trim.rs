//! Straight ahead is straight.

use trunnion::propel::{Sides, Trim, TrimConfig};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// 30 ‰ off the left side.
pub struct Block(Trim);

impl Subject for Block {
    const NAME: &'static str = "propel/trim";
    type Input = Sides;
    type Output = Sides;

    fn new() -> Self {
        Self(built!(Trim::new(TrimConfig { left: permille(30), right: permille(0) })))
    }

    fn input(random: &mut Random, previous: Option<&Sides>) -> Sides {
        Sides {
            left: random.ratio(previous.map(|before| before.left)),
            right: random.ratio(previous.map(|before| before.right)),
        }
    }

    fn step(&mut self, input: &Sides) -> Sides {
        self.0.step(*input)
    }
}
