//! A sensor whose signal follows its supply.

use trunnion::quantity::{Millivolts, Ratio};
use trunnion::sense::{RatiometricSensor, RatiometricSensorConfig, Reading};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{millivolts, permille};

/// 0.5 V to 4.5 V of 5 V, wire break below 0.2 V, short circuit above 4.8 V.
pub struct Block(RatiometricSensor);

impl Subject for Block {
    const NAME: &'static str = "sense/ratiometric";
    type Input = (Millivolts, Millivolts);
    type Output = Reading<Ratio>;

    fn new() -> Self {
        Self(built!(RatiometricSensor::new(RatiometricSensorConfig {
            low_fault: permille(40),
            low: permille(100),
            high: permille(900),
            high_fault: permille(960),
            supply_low: millivolts(4_750),
            supply_high: millivolts(5_250)
        })))
    }

    fn input(random: &mut Random, previous: Option<&(Millivolts, Millivolts)>) -> (Millivolts, Millivolts) {
        let signal = random.quantity(previous.map(|before| before.0), 0, 5_000);
        let supply = if random.once_in(64) {
            random.quantity(None, 0, 6_000)
        } else {
            random.quantity(None, 4_900, 5_100)
        };
        (signal, supply)
    }

    fn step(&mut self, input: &(Millivolts, Millivolts)) -> Reading<Ratio> {
        self.0.step(input.0, input.1)
    }
}
