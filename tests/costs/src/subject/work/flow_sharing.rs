//! One pump for four spools.

use crate::subject::{measured, permille};
use trunnion::quantity::Ratio;
use trunnion::work::{FlowConsumer, FlowPriority, FlowSharing};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// 300 ‰ first, 800, 600 and 500 ‰ shared.
pub struct Block(FlowSharing<4>);

impl Subject for Block {
    const NAME: &'static str = "work/flow_sharing";
    type Input = ([Ratio; 4], Ratio);
    type Output = [Ratio; 4];

    fn new() -> Self {
        let consumer = |full_flow, priority| FlowConsumer { full_flow: permille(full_flow), priority };
        Self(started!(FlowSharing::new([
            consumer(300, FlowPriority::First),
            consumer(800, FlowPriority::Shared),
            consumer(600, FlowPriority::Shared),
            consumer(500, FlowPriority::Shared),
        ])))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        (
            core::array::from_fn(|place| random.ratio(previous.map(|(commands, _)| commands[place]))),
            measured::share(random, previous.map(|(_, available)| *available)),
        )
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0[0].to_bits();
        into[1] = input.0[1].to_bits();
        into[2] = input.0[2].to_bits();
        into[3] = input.0[3].to_bits();
        into[4] = input.1.to_bits();
        5
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output[0].to_bits();
        into[1] = output[1].to_bits();
        into[2] = output[2].to_bits();
        into[3] = output[3].to_bits();
        4
    }
}
