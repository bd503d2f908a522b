//! From a share of a span to a pressure.

use trunnion::quantity::{Kilopascals, Ratio};
use trunnion::sense::Span;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// 0 to 4 MPa.
pub struct Block(Span<Kilopascals>);

impl Subject for Block {
    const NAME: &'static str = "sense/span";
    type Input = Ratio;
    type Output = Kilopascals;

    fn new() -> Self {
        Self(const { Span::new(Kilopascals::ZERO, Kilopascals::saturating(4_000)) })
    }

    /// 0 to 1, seldom below.
    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        let low = if random.once_in(100) { -Ratio::ONE_BITS } else { 0 };
        let before = previous.map(|share| share.to_bits().max(low));
        Ratio::saturating(random.moved(before, low, Ratio::ONE_BITS).into())
    }

    fn step(&mut self, share: &Ratio) -> Kilopascals {
        self.0.at(*share)
    }

    fn input_words(share: &Ratio, into: &mut Words) -> usize {
        into[0] = share.to_bits();
        1
    }

    fn output_words(pressure: &Kilopascals, into: &mut Words) -> usize {
        into[0] = pressure.raw();
        1
    }
}
