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
        let mut levers = [Ratio::ZERO; 4];
        for (place, lever) in levers.iter_mut().enumerate() {
            *lever = random.ratio(previous.map(|(_, before)| before[place]));
        }
        (pattern, levers)
    }

    fn step(&mut self, (pattern, [left_x, left_y, right_x, right_y]): &Levers) -> Intent {
        assign(*pattern, *left_x, *left_y, *right_x, *right_y)
    }

    fn input_words((pattern, levers): &Levers, into: &mut Words) -> usize {
        into[0] = *pattern as i32;
        for (place, lever) in levers.iter().enumerate() {
            into[place + 1] = lever.to_bits();
        }
        5
    }

    fn output_words(intent: &Intent, into: &mut Words) -> usize {
        let Intent { drive, steer, left_side, right_side, boom, bucket } = intent;
        for (place, part) in [drive, steer, left_side, right_side, boom, bucket].into_iter().enumerate() {
            into[place] = part.to_bits();
        }
        6
    }
}
