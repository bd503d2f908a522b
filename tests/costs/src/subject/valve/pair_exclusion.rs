//! Two coils of which one is on at most.

use trunnion::quantity::{Duty, Milliamps};
use trunnion::valve::{PairExclusion, PairExclusionConfig};

use crate::coil_plant::SensedPair;
use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{COIL_TICK, milliamps, millis};

/// Released below 50 mA, 5 ms of pause; coil loop.
pub struct Block(PairExclusion);

impl Subject for Block {
    const NAME: &'static str = "valve/pair_exclusion";
    type Input = SensedPair;
    type Output = (Milliamps, Milliamps);

    fn new() -> Self {
        Self(built!(PairExclusion::new(
            PairExclusionConfig { released: milliamps(50), pause: millis(5) },
            COIL_TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&SensedPair>) -> SensedPair {
        SensedPair::next(random, previous, (Duty::ZERO, Duty::ZERO))
    }

    fn step(&mut self, input: &SensedPair) -> (Milliamps, Milliamps) {
        self.0.step(input.set.0, input.set.1, input.measured.0, input.measured.1)
    }
}
