//! Which function each lever works.

use trunnion::lever::{Intent, LeverPattern, assign};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// It remembers nothing.
pub struct Block;

/// The pattern in force, and the levers: left x and y, right x and y.
type Levers = (LeverPattern, [Ratio; 4]);

impl Subject for Block {
    const NAME: &'static str = "lever/pattern";
    type Input = Levers;
    type Output = Intent;

    fn new() -> Self {
        Self
    }

    fn input(random: &mut Random, previous: Option<&Levers>) -> Levers {
        let pattern = match previous {
            Some((pattern, _)) if !random.once_in(50) => *pattern,
            _ => match random.below(3) {
                0 => LeverPattern::None,
                1 => LeverPattern::H,
                _ => LeverPattern::Iso,
            },
        };
        let mut levers = previous.map_or([Ratio::ZERO; 4], |(_, before)| *before);
        for lever in &mut levers {
            *lever = random.ratio(Some(*lever));
        }
        (pattern, levers)
    }

    fn step(&mut self, (pattern, [left_x, left_y, right_x, right_y]): &Levers) -> Intent {
        assign(*pattern, *left_x, *left_y, *right_x, *right_y)
    }

    fn input_words((pattern, levers): &Levers, into: &mut Words) -> usize {
        into[0] = *pattern as i32;
        for (word, lever) in into.iter_mut().skip(1).zip(levers) {
            *word = lever.to_bits();
        }
        5
    }

    fn output_words(intent: &Intent, into: &mut Words) -> usize {
        let Intent { drive, steer, left_side, right_side, boom, bucket } = intent;
        for (word, part) in into.iter_mut().zip([drive, steer, left_side, right_side, boom, bucket]) {
            *word = part.to_bits();
        }
        6
    }
}
