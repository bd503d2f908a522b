//! A comparison that does not flutter.

use trunnion::quantity::Kilopascals;
use trunnion::timing::{Hysteresis, HysteresisConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// On from 2000 kPa, off at 1800 kPa.
pub struct Block(Hysteresis<Kilopascals>);

impl Subject for Block {
    const NAME: &'static str = "timing/hysteresis";
    type Input = Kilopascals;
    type Output = bool;

    fn new() -> Self {
        Self(started!(Hysteresis::new(HysteresisConfig {
            on_from: Kilopascals::saturating(2_000),
            off_to: Kilopascals::saturating(1_800),
        })))
    }

    /// Around the limits; now and then anything that the type takes.
    fn input(random: &mut Random, previous: Option<&Kilopascals>) -> Kilopascals {
        let (low, high) = if random.once_in(200) { (-100_000, 100_000) } else { (1_600, 2_200) };
        let before = previous.map(|pressure| pressure.raw().max(low).min(high));
        Kilopascals::saturating(random.moved(before, low, high).into())
    }

    fn step(&mut self, pressure: &Kilopascals) -> bool {
        self.0.step(*pressure)
    }

    fn input_words(pressure: &Kilopascals, into: &mut Words) -> usize {
        into[0] = pressure.raw();
        1
    }

    fn output_words(on: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*on);
        1
    }
}
