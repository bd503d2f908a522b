//! Shares the flow of a pump that cannot serve all.

use trunnion::quantity::Ratio;
use trunnion::work::{FlowConsumer, FlowPriority, FlowSharing};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::permille;

/// Steering first, boom, bucket and auxiliary share.
pub struct Block(FlowSharing<4>);

impl Subject for Block {
    const NAME: &'static str = "work/flow_sharing";
    type Input = ([Ratio; 4], Ratio);
    type Output = [Ratio; 4];

    fn new() -> Self {
        let consumer = |full_flow, priority| FlowConsumer { full_flow: permille(full_flow), priority };
        Self(assembled!(FlowSharing::new([
            consumer(200, FlowPriority::First),
            consumer(900, FlowPriority::Shared),
            consumer(700, FlowPriority::Shared),
            consumer(500, FlowPriority::Shared),
        ])))
    }

    fn input(random: &mut Random, previous: Option<&([Ratio; 4], Ratio)>) -> ([Ratio; 4], Ratio) {
        let (mut commands, available) = previous.copied().unwrap_or(([Ratio::ZERO; 4], Ratio::ONE));
        for command in &mut commands {
            *command = random.ratio(Some(*command));
        }
        (commands, random.quantity(Some(available), 0, Ratio::ONE.to_bits()))
    }

    fn step(&mut self, input: &([Ratio; 4], Ratio)) -> [Ratio; 4] {
        self.0.step(input.0, input.1)
    }
}
