//! Less of everything where the oil is cold.

use trunnion::guard::{DerateCurve, DerateCurveConfig};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::permille;

/// 400 ‰ at -15 °C, all of it from 10 °C on.
pub struct Block(DerateCurve);

impl Subject for Block {
    const NAME: &'static str = "guard/derate";
    /// Tenths of a degree.
    type Input = i32;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(DerateCurve::new(DerateCurveConfig {
            low: -150,
            at_low: permille(400),
            high: 100,
            at_high: permille(1_000),
        })))
    }

    /// -16 to 11 °C, now and then anything.
    fn input(random: &mut Random, previous: Option<&i32>) -> i32 {
        if random.once_in(100) {
            return random.bits().cast_signed();
        }
        random.moved(previous.map(|before| (*before).max(-160).min(110)), -160, 110)
    }

    fn step(&mut self, temperature: &i32) -> Ratio {
        self.0.step(*temperature)
    }

    fn input_words(temperature: &i32, into: &mut Words) -> usize {
        into[0] = *temperature;
        1
    }

    fn output_words(share: &Ratio, into: &mut Words) -> usize {
        into[0] = share.to_bits();
        1
    }
}
