//! One lever axis with a deadband and a progression.

use trunnion::lever::{Axis, AxisConfig};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::permille;

/// Deadband 80 ‰, full at 980 ‰, progression 300 ‰.
pub struct Block(Axis);

impl Subject for Block {
    const NAME: &'static str = "lever/axis";
    type Input = Ratio;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(Axis::new(AxisConfig {
            deadband: permille(80),
            saturation: permille(980),
            progression: permille(300),
        })))
    }

    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        random.ratio(previous.copied())
    }

    fn step(&mut self, position: &Ratio) -> Ratio {
        self.0.step(*position)
    }

    fn input_words(position: &Ratio, into: &mut Words) -> usize {
        into[0] = position.to_bits();
        1
    }

    fn output_words(intent: &Ratio, into: &mut Words) -> usize {
        into[0] = intent.to_bits();
        1
    }
}
