//! A pressure without its noise.

use trunnion::quantity::Kilopascals;
use trunnion::sense::{LowPass, LowPassConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// 100 ms.
pub struct Block(LowPass<Kilopascals>);

impl Subject for Block {
    const NAME: &'static str = "sense/low_pass";
    type Input = Kilopascals;
    type Output = Kilopascals;

    fn new() -> Self {
        Self(built!(LowPass::new(LowPassConfig { time_constant: millis(100) }, TICK)))
    }

    /// 0 to 40 MPa, now and then anything that the type takes.
    fn input(random: &mut Random, previous: Option<&Kilopascals>) -> Kilopascals {
        let hostile = random.once_in(200);
        let (low, high) = if hostile { (-100_000, 100_000) } else { (0, 40_000) };
        let before = previous.map(|pressure| pressure.raw().max(low).min(high));
        Kilopascals::saturating(random.moved(before, low, high).into())
    }

    fn step(&mut self, pressure: &Kilopascals) -> Kilopascals {
        self.0.step(*pressure)
    }

    fn input_words(pressure: &Kilopascals, into: &mut Words) -> usize {
        into[0] = pressure.raw();
        1
    }

    fn output_words(pressure: &Kilopascals, into: &mut Words) -> usize {
        into[0] = pressure.raw();
        1
    }
}
