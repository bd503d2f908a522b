//! A sensor whose voltage is a share of its own supply.

use trunnion::quantity::{Millivolts, Ratio};
use trunnion::sense::{RatiometricSensor, RatiometricSensorConfig, Reading};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{permille, reading_words};

/// Span 100 to 900 ‰ of a supply of 4.75 to 5.25 V, faulted below 40 and above 960 ‰.
pub struct Block(RatiometricSensor);

/// Signal and supply.
type Voltages = (Millivolts, Millivolts);

impl Subject for Block {
    const NAME: &'static str = "sense/ratiometric";
    type Input = Voltages;
    type Output = Reading<Ratio>;

    fn new() -> Self {
        Self(built!(RatiometricSensor::new(RatiometricSensorConfig {
            low_fault: permille(40),
            low: permille(100),
            high: permille(900),
            high_fault: permille(960),
            supply_low: Millivolts::saturating(4_750),
            supply_high: Millivolts::saturating(5_250),
        })))
    }

    /// Mostly within the span at a supply that stays near 5 V, seldom in a fault band; now and then any of both.
    fn input(random: &mut Random, previous: Option<&Voltages>) -> Voltages {
        let (low, high, supplied) = match random.below(300) {
            0 => (0, 65_535, 65_535),
            1..20 => (100, 4_900, 300),
            _ => (450, 4_550, 200),
        };
        let signal = previous.map(|before| i32::from(before.0.raw()).max(low).min(high));
        let signal = random.moved(signal, low, high);
        let supply = match previous {
            Some((_, supply)) if supplied < 300 && !random.once_in(8) => {
                i32::from(supply.raw()).max(4_800).min(5_200)
            }
            _ => {
                random.between(5_000_i32.saturating_sub(supplied).max(0), 5_000_i32.saturating_add(supplied))
            }
        };
        (Millivolts::saturating(signal.into()), Millivolts::saturating(supply.into()))
    }

    fn step(&mut self, (signal, supply): &Voltages) -> Reading<Ratio> {
        self.0.step(*signal, *supply)
    }

    fn input_words((signal, supply): &Voltages, into: &mut Words) -> usize {
        into[0] = signal.raw().into();
        into[1] = supply.raw().into();
        2
    }

    fn output_words(share: &Reading<Ratio>, into: &mut Words) -> usize {
        reading_words::put(*share, Ratio::to_bits, into, 0)
    }
}
