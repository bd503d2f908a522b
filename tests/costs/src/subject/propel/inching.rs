//! Less drive by a pedal.

use trunnion::propel::{Inching, InchingConfig};
use trunnion::quantity::Ratio;
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// From 100 ‰ of the pedal, none at 900 ‰.
pub struct Block(Inching);

impl Subject for Block {
    const NAME: &'static str = "propel/inching";
    type Input = (Ratio, Reading<Ratio>);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(Inching::new(InchingConfig { begin: permille(100), full: permille(900) })))
    }

    fn input(random: &mut Random, previous: Option<&(Ratio, Reading<Ratio>)>) -> (Ratio, Reading<Ratio>) {
        (random.ratio(previous.map(|before| before.0)), random.share(previous.map(|before| before.1)))
    }

    fn step(&mut self, input: &(Ratio, Reading<Ratio>)) -> Ratio {
        self.0.step(input.0, input.1)
    }
}
