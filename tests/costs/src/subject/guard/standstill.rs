//! Standstill is seen, not assumed.

use trunnion::guard::{Standstill, StandstillConfig};
use trunnion::quantity::Rpm;
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis, reading_words};

/// Below 10 rpm for 200 ms.
pub struct Block(Standstill);

/// Whether nothing is commanded, and the speeds of both sides.
type Motion = (bool, [Reading<Rpm>; 2]);

impl Subject for Block {
    const NAME: &'static str = "guard/standstill";
    type Input = Motion;
    type Output = bool;

    fn new() -> Self {
        Self(built!(Standstill::new(StandstillConfig { band: Rpm::from_whole(10), hold: millis(200) }, TICK)))
    }

    /// Stands for about half the time, both sides alike, one of them seldom rolling.
    fn input(random: &mut Random, previous: Option<&Motion>) -> Motion {
        let before = previous.copied();
        let commands_zero = random.level(before.map(|motion| motion.0), 150);
        let range = if commands_zero && !random.once_in(100) { (-9, 9) } else { (-60, 60) };
        let mut side = |before| {
            measured::reading(random, before, |random, before| {
                let (low, high) = (Rpm::from_whole(range.0), Rpm::from_whole(range.1));
                measured::rpm(random, before.map(|speed: Rpm| speed.at_least(low).at_most(high)), range)
            })
        };
        let left = side(before.map(|motion| motion.1[0]));
        let right = side(before.map(|motion| motion.1[1]));
        (commands_zero, [left, right])
    }

    fn step(&mut self, (commands_zero, [left, right]): &Motion) -> bool {
        self.0.step(*commands_zero, *left, *right)
    }

    fn input_words((commands_zero, [left, right]): &Motion, into: &mut Words) -> usize {
        into[0] = i32::from(*commands_zero);
        let next = reading_words::put(*left, Rpm::raw, into, 1);
        reading_words::put(*right, Rpm::raw, into, next)
    }

    fn output_words(stands: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*stands);
        1
    }
}
