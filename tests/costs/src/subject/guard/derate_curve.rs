//! How much is allowed, by a quantity.

use trunnion::guard::{DerateCurve, DerateCurveConfig};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// 400 ‰ at −15 °C, all at 10 °C.
pub struct Block(DerateCurve);

impl Subject for Block {
    const NAME: &'static str = "guard/derate_curve";
    type Input = i32;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(DerateCurve::new(DerateCurveConfig {
            low: -150,
            at_low: permille(400),
            high: 100,
            at_high: permille(1_000)
        })))
    }

    fn input(random: &mut Random, previous: Option<&i32>) -> i32 {
        random.moved(previous.copied(), -300, 1_200)
    }

    fn step(&mut self, input: &i32) -> Ratio {
        self.0.step(*input)
    }
}
