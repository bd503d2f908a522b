//! A cooling fan by the hottest of what it cools.

use trunnion::quantity::{Celsius, Ratio};
use trunnion::sense::Reading;
use trunnion::work::{CooledMedium, FanDrive, FanDriveConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis, permille, reading_words};

/// Coolant and oil, at least 200 ‰; 5 s up, 10 s down.
pub struct Block(FanDrive<2>);

impl Subject for Block {
    const NAME: &'static str = "work/fan_drive";
    type Input = [Reading<Celsius>; 2];
    type Output = Ratio;

    fn new() -> Self {
        let between =
            |cool, hot| CooledMedium { cool: Celsius::saturating(cool), hot: Celsius::saturating(hot) };
        Self(started!(FanDrive::new(
            FanDriveConfig {
                media: [between(800, 1_000), between(500, 900)],
                least: permille(200),
                rise: millis(5_000),
                fall: millis(10_000),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let mut medium = |place: usize| {
            let before = previous.and_then(|both| both.get(place).copied());
            measured::reading(random, before, |random, before: Option<Celsius>| {
                let raw = before.map(|before| before.raw().into());
                Celsius::saturating(random.moved(raw, 300, 1_100).into())
            })
        };
        [medium(0), medium(1)]
    }

    fn step(&mut self, temperatures: &Self::Input) -> Ratio {
        self.0.step(*temperatures)
    }

    fn input_words(temperatures: &Self::Input, into: &mut Words) -> usize {
        temperatures
            .iter()
            .fold(0, |place, reading| reading_words::put(*reading, |value| value.raw().into(), into, place))
    }

    fn output_words(fan: &Ratio, into: &mut Words) -> usize {
        into[0] = fan.to_bits();
        1
    }
}
