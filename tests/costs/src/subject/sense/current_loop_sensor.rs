//! A transmitter with a 4–20 mA output.

use trunnion::quantity::{Centiohms, Millivolts, Ratio};
use trunnion::sense::{CurrentLoopSensor, CurrentLoopSensorConfig, LoopBands, Reading};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::reading_words;

/// 250 Ω, bands of NAMUR NE 43.
pub struct Block(CurrentLoopSensor);

impl Subject for Block {
    const NAME: &'static str = "sense/current_loop_sensor";
    type Input = Millivolts;
    type Output = Reading<Ratio>;

    fn new() -> Self {
        Self(built!(CurrentLoopSensor::new(CurrentLoopSensorConfig {
            shunt: Centiohms::saturating(25_000),
            bands: LoopBands::NAMUR_NE_43,
        })))
    }

    /// Mostly within the loop, 3.8 to 20.5 mA, seldom in a fault band; now and then any voltage.
    fn input(random: &mut Random, previous: Option<&Millivolts>) -> Millivolts {
        let (low, high) = match random.below(200) {
            0 => (0, 65_535),
            1..20 => (880, 5_270),
            _ => (950, 5_125),
        };
        let before = previous.map(|drop| i32::from(drop.raw()).max(low).min(high));
        Millivolts::saturating(random.moved(before, low, high).into())
    }

    fn step(&mut self, drop: &Millivolts) -> Reading<Ratio> {
        self.0.step(*drop)
    }

    fn input_words(drop: &Millivolts, into: &mut Words) -> usize {
        into[0] = drop.raw().into();
        1
    }

    fn output_words(share: &Reading<Ratio>, into: &mut Words) -> usize {
        reading_words::put(*share, Ratio::to_bits, into, 0)
    }
}
