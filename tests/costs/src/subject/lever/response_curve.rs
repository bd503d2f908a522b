//! A response by the points of a curve.

use trunnion::lever::{ResponseCurve, ResponsePoint};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// Five points, fine near neutral.
pub struct Block(ResponseCurve<5>);

impl Subject for Block {
    const NAME: &'static str = "lever/response_curve";
    type Input = Ratio;
    type Output = Ratio;

    fn new() -> Self {
        let point =
            |deflection, intent| ResponsePoint { deflection: permille(deflection), intent: permille(intent) };
        let points = [point(0, 0), point(250, 60), point(500, 200), point(800, 550), point(1_000, 1_000)];
        Self(assembled!(ResponseCurve::new(points)))
    }

    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        random.ratio(previous.copied())
    }

    fn step(&mut self, input: &Ratio) -> Ratio {
        self.0.step(*input)
    }
}
