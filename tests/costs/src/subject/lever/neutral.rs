//! Whether a lever is released.

use trunnion::lever::{Neutral, NeutralConfig};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::permille;

/// Neutral up to 50 ‰, until it is beyond 80 ‰.
pub struct Block(Neutral);

impl Subject for Block {
    const NAME: &'static str = "lever/neutral";
    type Input = Ratio;
    type Output = bool;

    fn new() -> Self {
        Self(built!(Neutral::new(NeutralConfig { inside: permille(50), outside: permille(80) })))
    }

    /// Half the time around the bands.
    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        if random.once_in(2) {
            return Ratio::saturating(random.between(-100_000_000, 100_000_000).into());
        }
        random.ratio(previous.copied())
    }

    fn step(&mut self, position: &Ratio) -> bool {
        self.0.step(*position)
    }

    fn input_words(position: &Ratio, into: &mut Words) -> usize {
        into[0] = position.to_bits();
        1
    }

    fn output_words(neutral: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*neutral);
        1
    }
}
