//! A transmitter of 4 to 20 mA.

use trunnion::quantity::{Millivolts, Ratio};
use trunnion::sense::{CurrentLoopSensor, CurrentLoopSensorConfig, LoopBands, Reading};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::centiohms;

/// 250 Ω, limits of NAMUR NE 43.
pub struct Block(CurrentLoopSensor);

impl Subject for Block {
    const NAME: &'static str = "sense/current_loop_sensor";
    type Input = Millivolts;
    type Output = Reading<Ratio>;

    fn new() -> Self {
        Self(built!(CurrentLoopSensor::new(CurrentLoopSensorConfig {
            shunt: centiohms(25_000),
            bands: LoopBands::NAMUR_NE_43
        })))
    }

    fn input(random: &mut Random, previous: Option<&Millivolts>) -> Millivolts {
        random.quantity(previous.copied(), 800, 5_400)
    }

    fn step(&mut self, input: &Millivolts) -> Reading<Ratio> {
        self.0.step(*input)
    }
}
