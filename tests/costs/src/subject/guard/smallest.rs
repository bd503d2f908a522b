//! The smallest of several shares.

use trunnion::guard::smallest;
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Four shares.
pub struct Block;

impl Subject for Block {
    const NAME: &'static str = "guard/smallest";
    type Input = [Ratio; 4];
    type Output = Ratio;

    fn new() -> Self {
        Self
    }

    fn input(random: &mut Random, previous: Option<&[Ratio; 4]>) -> [Ratio; 4] {
        let mut shares = previous.copied().unwrap_or([Ratio::ONE; 4]);
        for share in &mut shares {
            *share = Ratio::saturating(random.moved(Some(share.to_bits()), 0, Ratio::ONE_BITS).into());
        }
        shares
    }

    fn step(&mut self, shares: &[Ratio; 4]) -> Ratio {
        smallest(shares)
    }

    fn input_words(shares: &[Ratio; 4], into: &mut Words) -> usize {
        for (word, share) in into.iter_mut().zip(shares) {
            *word = share.to_bits();
        }
        shares.len()
    }

    fn output_words(share: &Ratio, into: &mut Words) -> usize {
        into[0] = share.to_bits();
        1
    }
}
