//! Auxiliary flow without a hand.

use crate::subject::{measured, permille};
use trunnion::quantity::Ratio;
use trunnion::work::{ContinuousFlow, ContinuousFlowConfig, ContinuousFlowInputs};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// 700 ‰ from neutral, which is within 50 ‰.
pub struct Block(ContinuousFlow);

impl Subject for Block {
    const NAME: &'static str = "work/continuous_flow";
    type Input = ContinuousFlowInputs;
    type Output = (Ratio, bool);

    fn new() -> Self {
        Self(built!(ContinuousFlow::new(ContinuousFlowConfig { flow: permille(700), neutral: permille(50) })))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        ContinuousFlowInputs {
            toggle: random.once_in(30),
            wheel: random.ratio(previous.map(|inputs| inputs.wheel)),
            permitted: measured::mostly(random, previous.map(|inputs| inputs.permitted), 300, 30),
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let intent = self.0.step(*input);
        (intent, self.0.is_continuous())
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.toggle.into();
        into[1] = input.wheel.to_bits();
        into[2] = input.permitted.into();
        3
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.to_bits();
        into[1] = output.1.into();
        2
    }
}
