//! A lever response drawn by points.

use trunnion::lever::{ResponseCurve, ResponsePoint};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::permille;

/// Five points: fine near neutral, steep in the middle.
pub struct Block(ResponseCurve<5>);

const POINTS: [ResponsePoint; 5] =
    [point(0, 0), point(80, 0), point(400, 150), point(800, 650), point(1000, 1000)];

const fn point(deflection: i64, intent: i64) -> ResponsePoint {
    ResponsePoint { deflection: permille(deflection), intent: permille(intent) }
}

impl Subject for Block {
    const NAME: &'static str = "lever/response_curve";
    type Input = Ratio;
    type Output = Ratio;

    fn new() -> Self {
        Self(started!(ResponseCurve::new(POINTS)))
    }

    fn input(random: &mut Random, previous: Option<&Ratio>) -> Ratio {
        random.ratio(previous.copied())
    }

    fn step(&mut self, deflection: &Ratio) -> Ratio {
        self.0.step(*deflection)
    }

    fn input_words(deflection: &Ratio, into: &mut Words) -> usize {
        into[0] = deflection.to_bits();
        1
    }

    fn output_words(intent: &Ratio, into: &mut Words) -> usize {
        into[0] = intent.to_bits();
        1
    }
}
