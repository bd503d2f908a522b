//! A lever by its own ends and centre.

use trunnion::lever::{AxisCalibration, AxisCalibrationConfig};
use trunnion::quantity::{Millivolts, Ratio};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{permille, reading_words};

/// 480 to 4530 mV with the centre at 2530 mV, 150 mV beyond.
pub struct Block(AxisCalibration<Millivolts>);

impl Subject for Block {
    const NAME: &'static str = "lever/calibration";
    type Input = Millivolts;
    type Output = Reading<Ratio>;

    fn new() -> Self {
        Self(started!(AxisCalibration::new(AxisCalibrationConfig {
            low: Millivolts::saturating(480),
            centre: Millivolts::saturating(2_530),
            high: Millivolts::saturating(4_530),
            shortest_travel: Millivolts::saturating(1_500),
            off_centre: permille(100),
            overtravel: Millivolts::saturating(150),
        })))
    }

    fn input(random: &mut Random, previous: Option<&Millivolts>) -> Millivolts {
        let (low, high) = match random.below(200) {
            0 => (0, 65_535),
            1..20 => (300, 4_720),
            _ => (450, 4_600),
        };
        let before = previous.map(|signal| i32::from(signal.raw()).max(low).min(high));
        Millivolts::saturating(random.moved(before, low, high).into())
    }

    fn step(&mut self, signal: &Millivolts) -> Reading<Ratio> {
        self.0.step(*signal)
    }

    fn input_words(signal: &Millivolts, into: &mut Words) -> usize {
        into[0] = signal.raw().into();
        1
    }

    fn output_words(position: &Reading<Ratio>, into: &mut Words) -> usize {
        reading_words::put(*position, Ratio::to_bits, into, 0)
    }
}
