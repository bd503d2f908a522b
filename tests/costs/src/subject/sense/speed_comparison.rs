//! Two sources of one speed.

use trunnion::quantity::Rpm;
use trunnion::sense::{Reading, SpeedComparison, SpeedComparisonConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis, reading_words};

/// 100 rpm apart for 300 ms at most.
pub struct Block(SpeedComparison);

/// Pickup and bus.
type Speeds = (Reading<Rpm>, Reading<Rpm>);

impl Subject for Block {
    const NAME: &'static str = "sense/speed_comparison";
    type Input = Speeds;
    type Output = bool;

    fn new() -> Self {
        Self(built!(SpeedComparison::new(
            SpeedComparisonConfig { tolerance: Rpm::from_whole(100), disagree_after: millis(300) },
            TICK
        )))
    }

    /// The bus follows the pickup within about 110 rpm, but now and then stays where it is.
    fn input(random: &mut Random, previous: Option<&Speeds>) -> Speeds {
        let pickup = measured::reading(random, previous.map(|speeds| speeds.0), |random, before| {
            measured::rpm(random, before, (0, 3_000))
        });
        let bus = measured::reading(random, previous.map(|speeds| speeds.1), |random, before| {
            match (pickup, before) {
                (Reading::Valid(speed), _) if random.once_in(24) => {
                    Rpm::saturating(i64::from(speed.raw()).wrapping_add(random.between(-900, 900).into()))
                }
                (_, before) => before.unwrap_or(Rpm::ZERO),
            }
        });
        (pickup, bus)
    }

    fn step(&mut self, (pickup, bus): &Speeds) -> bool {
        self.0.step(*pickup, *bus)
    }

    fn input_words((pickup, bus): &Speeds, into: &mut Words) -> usize {
        let next = reading_words::put(*pickup, Rpm::raw, into, 0);
        reading_words::put(*bus, Rpm::raw, into, next)
    }

    fn output_words(disagree: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*disagree);
        1
    }
}
