//! Keeps auxiliary flow going without a hand.

use trunnion::quantity::Ratio;
use trunnion::work::{ContinuousFlow, ContinuousFlowConfig, ContinuousFlowInputs};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::permille;

/// 600 ‰, the wheel released within 50 ‰.
pub struct Block(ContinuousFlow);

impl Subject for Block {
    const NAME: &'static str = "work/continuous_flow";
    type Input = ContinuousFlowInputs;
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(ContinuousFlow::new(ContinuousFlowConfig { flow: permille(600), neutral: permille(50) })))
    }

    fn input(random: &mut Random, previous: Option<&ContinuousFlowInputs>) -> ContinuousFlowInputs {
        let wheel = random.ratio(previous.map(|before| before.wheel));
        ContinuousFlowInputs {
            toggle: random.once_in(16),
            wheel: if random.once_in(3) { wheel } else { Ratio::ZERO },
            permitted: random.level(previous.map(|before| before.permitted), 80),
        }
    }

    fn step(&mut self, input: &ContinuousFlowInputs) -> Ratio {
        self.0.step(*input)
    }
}

impl Spelled for ContinuousFlowInputs {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.toggle.spell(into, at);
        let at = self.wheel.spell(into, at);
        self.permitted.spell(into, at)
    }
}
