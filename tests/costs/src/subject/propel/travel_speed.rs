//! The speed that was asked for, uphill and down.

use crate::subject::{TICK, measured, millis, permille};
use trunnion::propel::{TravelSpeed, TravelSpeedConfig};
use trunnion::quantity::{Ratio, Rpm};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// 2000 rpm at full command, gain 500 ‰, integral time 2 s, authority 300 ‰.
pub struct Block(TravelSpeed);

impl Subject for Block {
    const NAME: &'static str = "propel/travel_speed";
    type Input = (Rpm, Reading<Rpm>, Ratio);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(TravelSpeed::new(
            TravelSpeedConfig {
                full_speed: Rpm::from_whole(2000),
                gain: permille(500),
                integral_time: millis(2000),
                authority: permille(300),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        (
            match previous {
                Some((target, _, _)) if random.below(8) != 0 => *target,
                previous => measured::rpm(random, previous.map(|(target, _, _)| *target), (-2000, 2000)),
            },
            measured::reading(random, previous.map(|(_, actual, _)| *actual), |random, previous| {
                measured::rpm(random, previous, (-2200, 2200))
            }),
            measured::share(random, previous.map(|(_, _, allowed)| *allowed)),
        )
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1, input.2)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.raw();
        into[1] = input.1.is_valid().into();
        into[2] = input.1.or(Rpm::ZERO).raw();
        into[3] = input.2.to_bits();
        4
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.to_bits();
        1
    }
}
