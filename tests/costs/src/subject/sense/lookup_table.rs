//! A thermistor, by the points of its characteristic.

use trunnion::quantity::{Celsius, Millivolts};
use trunnion::sense::LookupTable;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Eight points from 130 to -30 °C, at a divider of 5 V.
pub struct Block(LookupTable<Millivolts, Celsius, 8>);

const POINTS: [(Millivolts, Celsius); 8] = [
    (Millivolts::saturating(300), Celsius::saturating(1_300)),
    (Millivolts::saturating(600), Celsius::saturating(1_000)),
    (Millivolts::saturating(1_100), Celsius::saturating(750)),
    (Millivolts::saturating(1_800), Celsius::saturating(530)),
    (Millivolts::saturating(2_600), Celsius::saturating(330)),
    (Millivolts::saturating(3_400), Celsius::saturating(130)),
    (Millivolts::saturating(4_100), Celsius::saturating(-80)),
    (Millivolts::saturating(4_600), Celsius::saturating(-300)),
];

impl Subject for Block {
    const NAME: &'static str = "sense/lookup_table";
    type Input = Millivolts;
    type Output = Celsius;

    fn new() -> Self {
        Self(started!(LookupTable::new(POINTS)))
    }

    fn input(random: &mut Random, previous: Option<&Millivolts>) -> Millivolts {
        let (low, high) = match random.below(200) {
            0 => (0, 65_535),
            1..20 => (0, 5_000),
            _ => (310, 4_590),
        };
        let before = previous.map(|signal| i32::from(signal.raw()).max(low).min(high));
        Millivolts::saturating(random.moved(before, low, high).into())
    }

    fn step(&mut self, signal: &Millivolts) -> Celsius {
        self.0.step(*signal)
    }

    fn input_words(signal: &Millivolts, into: &mut Words) -> usize {
        into[0] = signal.raw().into();
        1
    }

    fn output_words(temperature: &Celsius, into: &mut Words) -> usize {
        into[0] = temperature.raw().into();
        1
    }
}
