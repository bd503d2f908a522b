//! Which function each lever works.

use trunnion::lever::{Intent, LeverPattern, assign};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::{Spelled, put};

/// Nothing to configure.
pub struct Block;

impl Subject for Block {
    const NAME: &'static str = "lever/pattern";
    type Input = Levers;
    type Output = Intent;

    fn new() -> Self {
        Self
    }

    fn input(random: &mut Random, previous: Option<&Levers>) -> Levers {
        Levers {
            pattern: match previous {
                Some(before) if !random.once_in(64) => before.pattern,
                _ => match random.below(3) {
                    0 => LeverPattern::None,
                    1 => LeverPattern::H,
                    _ => LeverPattern::Iso,
                },
            },
            left_x: random.ratio(previous.map(|before| before.left_x)),
            left_y: random.ratio(previous.map(|before| before.left_y)),
            right_x: random.ratio(previous.map(|before| before.right_x)),
            right_y: random.ratio(previous.map(|before| before.right_y)),
        }
    }

    fn step(&mut self, input: &Levers) -> Intent {
        assign(input.pattern, input.left_x, input.left_y, input.right_x, input.right_y)
    }
}

/// The pattern and both levers.
#[derive(Clone, Copy)]
pub struct Levers {
    pattern: LeverPattern,
    left_x: Ratio,
    left_y: Ratio,
    right_x: Ratio,
    right_y: Ratio,
}

impl Spelled for Levers {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = put(into, at, self.pattern as i32);
        (self.left_x, self.left_y, self.right_x, self.right_y).spell(into, at)
    }
}

impl Spelled for Intent {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.drive.spell(into, at);
        let at = self.steer.spell(into, at);
        let at = self.left_side.spell(into, at);
        let at = self.right_side.spell(into, at);
        let at = self.boom.spell(into, at);
        self.bucket.spell(into, at)
    }
}
