//! Retards what a downgrade drives.

use trunnion::propel::{Overspeed, OverspeedConfig, OverspeedDemand};
use trunnion::quantity::Rpm;
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::{TICK, millis, rpm};

/// From 2200 rpm, all at 2500 rpm, released in 1 s.
pub struct Block(Overspeed);

impl Subject for Block {
    const NAME: &'static str = "propel/overspeed";
    type Input = Reading<Rpm>;
    type Output = OverspeedDemand;

    fn new() -> Self {
        Self(built!(Overspeed::new(
            OverspeedConfig { begin: rpm(2_200), full: rpm(2_500), release: millis(1_000) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Reading<Rpm>>) -> Reading<Rpm> {
        random.reading(previous.copied(), -22_400, 22_400)
    }

    fn step(&mut self, input: &Reading<Rpm>) -> OverspeedDemand {
        self.0.step(*input)
    }
}

impl Spelled for OverspeedDemand {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.retard.spell(into, at);
        self.hold_back.spell(into, at)
    }
}
