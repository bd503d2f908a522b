//! Shares the flow of one pump among spools, in `f32`.

use crate::float::number::{ONE, larger, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::work::flow_sharing::Block;

/// Flow at full opening as a share of the pump's, and whether it is served before the others.
#[derive(Clone, Copy)]
pub struct Consumer {
    pub(crate) full_flow: f32,
    pub(crate) first: bool,
}

/// The configuration, resolved to a step, and the state.
pub struct FlowSharing<const CONSUMERS: usize> {
    consumers: [Consumer; CONSUMERS],
}

impl<const CONSUMERS: usize> FlowSharing<CONSUMERS> {
    pub(crate) fn with(consumers: [Consumer; CONSUMERS]) -> Self {
        Self { consumers }
    }

    pub(crate) fn step(&self, commands: [f32; CONSUMERS], available: f32) -> [f32; CONSUMERS] {
        let available = larger(available, 0.0);
        let (mut first, mut shared) = (0.0, 0.0);
        for (command, consumer) in commands.iter().zip(&self.consumers) {
            let flow = command.abs() * consumer.full_flow;
            if consumer.first {
                first += flow;
            } else {
                shared += flow;
            }
        }
        let first_share = kept(available, first);
        let shared_share = kept(larger(available - first, 0.0), shared);
        let mut given = commands;
        for (command, consumer) in given.iter_mut().zip(&self.consumers) {
            *command *= if consumer.first { first_share } else { shared_share };
        }
        given
    }
}

fn kept(available: f32, demand: f32) -> f32 {
    if demand <= available { 1.0 } else { available / demand }
}

/// The block with the configuration of its subject.
pub struct Twin(FlowSharing<4>);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = ([f32; 4], f32);
    type Output = [f32; 4];

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0, 1024.0, 1024.0, 1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        let consumer = |full_flow, first| Consumer { full_flow, first };
        Self(FlowSharing::with([
            consumer(0.3, true),
            consumer(0.8, false),
            consumer(0.6, false),
            consumer(0.5, false),
        ]))
    }

    fn input(words: &Words) -> Self::Input {
        let commands = [words[0], words[1], words[2], words[3]].map(share);
        (commands, share(words[4]))
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output[0] * ONE;
        into[1] = output[1] * ONE;
        into[2] = output[2] * ONE;
        into[3] = output[3] * ONE;
        4
    }
}
