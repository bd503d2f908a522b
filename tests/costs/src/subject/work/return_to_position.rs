//! Brings a cylinder to a set position.

use crate::subject::{TICK, measured, millis, permille};
use trunnion::quantity::Ratio;
use trunnion::work::{ReturnInputs, ReturnToPosition, ReturnToPositionConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// To 300 ± 10 ‰, from 800 ‰ to 150 ‰ over 150 ‰, within 8 s.
pub struct Block(ReturnToPosition);

impl Subject for Block {
    const NAME: &'static str = "work/return_to_position";
    type Input = ReturnInputs;
    type Output = (Ratio, bool);

    fn new() -> Self {
        Self(built!(ReturnToPosition::new(
            ReturnToPositionConfig {
                position: permille(300),
                window: permille(10),
                approach: permille(150),
                speed: permille(800),
                end_speed: permille(150),
                neutral: permille(50),
                time_out: millis(8000),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let held = random.below(8) != 0;
        ReturnInputs {
            permitted: measured::mostly(random, previous.map(|inputs| inputs.permitted), 500, 30),
            request: random.once_in(50),
            // Mostly let go of: a return is cancelled by it.
            lever: match previous {
                Some(inputs) if held => inputs.lever,
                _ if random.below(2) == 0 => Ratio::ZERO,
                previous => random.ratio(previous.map(|inputs| inputs.lever)),
            },
            position: match previous {
                Some(inputs) if held => inputs.position,
                previous => {
                    measured::reading(random, previous.map(|inputs| inputs.position), measured::share)
                }
            },
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let command = self.0.step(*input);
        (command, self.0.is_returning())
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.permitted.into();
        into[1] = input.request.into();
        into[2] = input.lever.to_bits();
        into[3] = input.position.is_valid().into();
        into[4] = input.position.or(Ratio::ZERO).to_bits();
        5
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.to_bits();
        into[1] = output.1.into();
        2
    }
}
