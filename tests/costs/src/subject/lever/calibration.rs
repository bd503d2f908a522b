//! Where a lever is, by its own ends and centre.

use trunnion::lever::{AxisCalibration, AxisCalibrationConfig};
use trunnion::quantity::{Millivolts, Ratio};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{millivolts, permille};

/// Ends at 480 mV and 4530 mV, centre at 2530 mV, 150 mV of overtravel.
pub struct Block(AxisCalibration<Millivolts>);

impl Subject for Block {
    const NAME: &'static str = "lever/calibration";
    type Input = Millivolts;
    type Output = Reading<Ratio>;

    fn new() -> Self {
        Self(assembled!(AxisCalibration::new(AxisCalibrationConfig {
            low: millivolts(480),
            centre: millivolts(2_530),
            high: millivolts(4_530),
            shortest_travel: millivolts(1_500),
            off_centre: permille(100),
            overtravel: millivolts(150)
        })))
    }

    fn input(random: &mut Random, previous: Option<&Millivolts>) -> Millivolts {
        random.quantity(previous.copied(), 250, 4_750)
    }

    fn step(&mut self, input: &Millivolts) -> Reading<Ratio> {
        self.0.step(*input)
    }
}
