//! A quantity from a share of its span.

use trunnion::quantity::{Kilopascals, Ratio};
use trunnion::sense::Span;

use crate::random::Random;
use crate::scale::Subject;

/// 0 to 4 MPa.
pub struct Block(Span<Kilopascals>);

impl Subject for Block {
    const NAME: &'static str = "sense/span";
    type Input = Ratio;
    type Output = Kilopascals;

    fn new() -> Self {
        Self(const { Span::new(Kilopascals::ZERO, Kilopascals::saturating(4_000)) })
    }

    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        random.quantity(previous.copied(), 0, Ratio::ONE.to_bits())
    }

    fn step(&mut self, input: &Ratio) -> Kilopascals {
        self.0.at(*input)
    }
}
