//! The speed that was asked for, uphill and down.

use trunnion::propel::{TravelSpeed, TravelSpeedConfig};
use trunnion::quantity::{Ratio, Rpm};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis, permille, rpm};

/// Full speed 2000 rpm, gain 500 ‰, integral time 2 s, authority 300 ‰.
pub struct Block(TravelSpeed);

impl Subject for Block {
    const NAME: &'static str = "propel/travel_speed";
    type Input = (Rpm, Reading<Rpm>, Ratio);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(TravelSpeed::new(
            TravelSpeedConfig {
                full_speed: rpm(2_000),
                gain: permille(500),
                integral_time: millis(2_000),
                authority: permille(300)
            },
            TICK
        )))
    }

    fn input(
        random: &mut Random,
        previous: Option<&(Rpm, Reading<Rpm>, Ratio)>,
    ) -> (Rpm, Reading<Rpm>, Ratio) {
        let target: Rpm = random.quantity(previous.map(|before| before.0), -16_000, 16_000);
        let actual = match previous.map(|before| before.1) {
            Some(Reading::Valid(actual)) if !random.once_in(32) => {
                Reading::Valid(Rpm::saturating(i64::from(random.approached(actual.raw(), target.raw(), 400))))
            }
            before => random.reading(before, -16_000, 16_000),
        };
        (target, actual, random.quantity(previous.map(|before| before.2), 0, Ratio::ONE.to_bits()))
    }

    fn step(&mut self, input: &(Rpm, Reading<Rpm>, Ratio)) -> Ratio {
        self.0.step(input.0, input.1, input.2)
    }
}
