//! The whole lever over a small share of the speed.

use trunnion::propel::{Creep, CreepConfig, CreepInputs};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::permille;

/// 50 to 500 ‰ in steps of 50 ‰.
pub struct Block(Creep);

impl Subject for Block {
    const NAME: &'static str = "propel/creep";
    type Input = CreepInputs;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(Creep::new(CreepConfig {
            slowest: permille(50),
            fastest: permille(500),
            first: permille(200),
            increment: permille(50)
        })))
    }

    fn input(random: &mut Random, previous: Option<&CreepInputs>) -> CreepInputs {
        CreepInputs {
            drive: random.ratio(previous.map(|before| before.drive)),
            toggle: random.once_in(40),
            faster: random.once_in(20),
            slower: random.once_in(20),
        }
    }

    fn step(&mut self, input: &CreepInputs) -> Ratio {
        self.0.step(*input)
    }
}

impl Spelled for CreepInputs {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.drive.spell(into, at);
        let at = self.toggle.spell(into, at);
        let at = self.faster.spell(into, at);
        self.slower.spell(into, at)
    }
}
