//! Less drive before the engine stalls.

use crate::subject::{TICK, measured, millis, permille};
use trunnion::propel::{AntiStall, AntiStallConfig};
use trunnion::quantity::{Ratio, Rpm};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// From a droop of 120 ‰ to 150 ‰ of the drive at 300 ‰, back in 1.5 s.
pub struct Block(AntiStall);

impl Subject for Block {
    const NAME: &'static str = "propel/anti_stall";
    type Input = (Rpm, Reading<Rpm>);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(AntiStall::new(
            AntiStallConfig {
                begin: permille(120),
                full: permille(300),
                floor: permille(150),
                recovery: millis(1500),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let expected = match previous {
            Some((expected, _)) if random.below(8) != 0 => *expected,
            previous => {
                let previous = previous.map(|(expected, _)| *expected);
                let idle = if random.once_in(8) { 0 } else { 1000 };
                measured::rpm(random, previous, (idle, 2600))
            }
        };
        // Mostly within a droop of 25 %.
        let actual = measured::reading(random, previous.map(|(_, actual)| *actual), |random, previous| {
            let whole = expected.raw() / 8;
            measured::rpm(random, previous, (whole.saturating_mul(3) / 4, whole.saturating_add(50)))
        });
        (expected, actual)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.raw();
        into[1] = input.1.is_valid().into();
        into[2] = input.1.or(Rpm::ZERO).raw();
        3
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.to_bits();
        1
    }
}
