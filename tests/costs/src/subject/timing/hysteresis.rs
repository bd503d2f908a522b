//! True from the upper limit on, false from the lower one.

use trunnion::quantity::Kilopascals;
use trunnion::timing::{Hysteresis, HysteresisConfig};

use crate::random::Random;
use crate::scale::Subject;

/// 1200 and 1000 kPa.
pub struct Block(Hysteresis<Kilopascals>);

impl Subject for Block {
    const NAME: &'static str = "timing/hysteresis";
    type Input = Kilopascals;
    type Output = bool;

    fn new() -> Self {
        Self(assembled!(Hysteresis::new(HysteresisConfig {
            on_from: Kilopascals::saturating(1_200),
            off_to: Kilopascals::saturating(1_000)
        })))
    }

    fn input(random: &mut Random, previous: Option<&Kilopascals>) -> Kilopascals {
        random.quantity(previous.copied(), 0, 2_200)
    }

    fn step(&mut self, input: &Kilopascals) -> bool {
        self.0.step(*input)
    }
}
