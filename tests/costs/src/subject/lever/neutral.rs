//! Whether a lever is released.

use trunnion::lever::{Neutral, NeutralConfig};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// Released within 40 ‰, worked beyond 60 ‰.
pub struct Block(Neutral);

impl Subject for Block {
    const NAME: &'static str = "lever/neutral";
    type Input = Ratio;
    type Output = bool;

    fn new() -> Self {
        Self(built!(Neutral::new(NeutralConfig { inside: permille(40), outside: permille(60) })))
    }

    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        let position = random.ratio(previous.copied());
        // Released often, and near neutral more often than a lever that is worked.
        if random.once_in(3) { position.times(Ratio::saturating(1 << 26)) } else { position }
    }

    fn step(&mut self, input: &Ratio) -> bool {
        self.0.step(*input)
    }
}
