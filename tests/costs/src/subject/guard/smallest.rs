//! The smallest of what is allowed.

use trunnion::guard::smallest;
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::Subject;

/// Six shares.
pub struct Block;

impl Subject for Block {
    const NAME: &'static str = "guard/smallest";
    type Input = [Ratio; 6];
    type Output = Ratio;

    fn new() -> Self {
        Self
    }

    fn input(random: &mut Random, previous: Option<&[Ratio; 6]>) -> [Ratio; 6] {
        let mut shares = previous.copied().unwrap_or([Ratio::ONE; 6]);
        for share in &mut shares {
            *share = random.quantity(Some(*share), 0, Ratio::ONE.to_bits());
        }
        shares
    }

    fn step(&mut self, input: &[Ratio; 6]) -> Ratio {
        smallest(input)
    }
}
