//! Retards what a downgrade drives.

use crate::subject::{TICK, measured, millis};
use trunnion::propel::{Overspeed, OverspeedConfig, OverspeedDemand};
use trunnion::quantity::Rpm;
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// From 2700 rpm to all at 3000 rpm, released in 1 s.
pub struct Block(Overspeed);

impl Subject for Block {
    const NAME: &'static str = "propel/overspeed";
    type Input = Reading<Rpm>;
    type Output = OverspeedDemand;

    fn new() -> Self {
        Self(built!(Overspeed::new(
            OverspeedConfig {
                begin: Rpm::from_whole(2700),
                full: Rpm::from_whole(3000),
                release: millis(1000),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        measured::reading(random, previous.copied(), |random, previous| {
            measured::rpm(random, previous, (-3000, 3000))
        })
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(*input)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.is_valid().into();
        into[1] = input.or(Rpm::ZERO).raw();
        2
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.retard.to_bits();
        into[1] = output.hold_back.into();
        2
    }
}
