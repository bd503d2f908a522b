//! A quantity by the points of a characteristic.

use trunnion::quantity::{Celsius, Centiohms};
use trunnion::sense::LookupTable;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::centiohms;

/// Nine points of a Pt100 from −50 °C to 150 °C (IEC 60751, rounded; from memory).
pub struct Block(LookupTable<Centiohms, Celsius, 9>);

impl Subject for Block {
    const NAME: &'static str = "sense/lookup_table";
    type Input = Centiohms;
    type Output = Celsius;

    fn new() -> Self {
        let point = |ohms, tenths| (centiohms(ohms), Celsius::saturating(tenths));
        Self(assembled!(LookupTable::new([
            point(8_031, -500),
            point(9_019, -250),
            point(10_000, 0),
            point(10_973, 250),
            point(11_940, 500),
            point(12_899, 750),
            point(13_851, 1_000),
            point(14_795, 1_250),
            point(15_733, 1_500),
        ])))
    }

    fn input(random: &mut Random, previous: Option<&Centiohms>) -> Centiohms {
        random.quantity(previous.copied(), 7_500, 16_500)
    }

    fn step(&mut self, input: &Centiohms) -> Celsius {
        self.0.step(*input)
    }
}
