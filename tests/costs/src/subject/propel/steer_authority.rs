//! Less steer at speed.

use trunnion::propel::{SteerAuthority, SteerAuthorityConfig};
use trunnion::quantity::{Ratio, Rpm};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{permille, rpm};

/// All up to 100 rpm, 400 ‰ from 400 rpm.
pub struct Block(SteerAuthority);

impl Subject for Block {
    const NAME: &'static str = "propel/steer_authority";
    type Input = (Ratio, Reading<Rpm>);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(SteerAuthority::new(SteerAuthorityConfig {
            slow: rpm(100),
            fast: rpm(400),
            floor: permille(400)
        })))
    }

    fn input(random: &mut Random, previous: Option<&(Ratio, Reading<Rpm>)>) -> (Ratio, Reading<Rpm>) {
        (
            random.ratio(previous.map(|before| before.0)),
            random.reading(previous.map(|before| before.1), -4_800, 4_800),
        )
    }

    fn step(&mut self, input: &(Ratio, Reading<Rpm>)) -> Ratio {
        self.0.step(input.0, input.1)
    }
}
