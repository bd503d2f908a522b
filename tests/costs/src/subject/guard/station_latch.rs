//! Two seats, of which one commands.

use trunnion::guard::{StationLatch, StationLatchConfig, StationLatchInputs, StationState};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// 300 ms.
pub struct Block(StationLatch<2>);

impl Subject for Block {
    const NAME: &'static str = "guard/station_latch";
    type Input = StationLatchInputs<2>;
    type Output = StationState;

    fn new() -> Self {
        Self(built!(StationLatch::new(StationLatchConfig { hold: millis(300) }, TICK)))
    }

    /// Seats are taken and left, levers released and held, the machine rests and moves.
    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let mut inputs = previous.copied().unwrap_or(StationLatchInputs {
            claimed: [true, false],
            neutral: [true; 2],
            at_rest: true,
        });
        for claimed in &mut inputs.claimed {
            *claimed = random.level(Some(*claimed), 200);
        }
        for neutral in &mut inputs.neutral {
            *neutral = random.level(Some(*neutral), if *neutral { 150 } else { 30 });
        }
        inputs.at_rest = random.level(Some(inputs.at_rest), if inputs.at_rest { 150 } else { 50 });
        inputs
    }

    fn step(&mut self, inputs: &Self::Input) -> StationState {
        self.0.step(*inputs)
    }

    fn input_words(inputs: &Self::Input, into: &mut Words) -> usize {
        let StationLatchInputs { claimed: [one, other], neutral: [at_one, at_other], at_rest } = *inputs;
        let levels = [one, other, at_one, at_other, at_rest];
        for (word, level) in into.iter_mut().zip(levels) {
            *word = i32::from(level);
        }
        levels.len()
    }

    fn output_words(state: &StationState, into: &mut Words) -> usize {
        into[0] = state.in_command.is_some().into();
        into[1] = state.in_command.map_or(0, i32::from);
        into[2] = state.waiting.is_some().into();
        into[3] = state.waiting.map_or(0, i32::from);
        into[4] = state.changed.into();
        5
    }
}
