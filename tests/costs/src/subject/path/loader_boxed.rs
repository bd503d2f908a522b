//! The loader's whole control step as [`loader`](super::loader), with the black box that records it.

use loader::Loader;
use loader::declaration::{Outputs, SetPoints};
use trunnion::machine::{Boot, Machine};

use super::loader::{record, reports};
use crate::loader_bench::{Bench, WORKING};
use crate::random::Random;
use crate::scale::{Subject, Words};

/// With its default parameters.
pub struct Block(Loader);

impl Subject for Block {
    const NAME: &'static str = "path/loader_boxed";
    const LEAD_IN: u32 = WORKING + 30;
    type Input = Bench;
    type Output = (Outputs, SetPoints);

    fn new() -> Self {
        Self(Loader::start(&Boot::default()).0)
    }

    fn input(_: &mut Random, _: Option<&Bench>) -> Bench {
        Bench::new()
    }

    fn input_after(random: &mut Random, previous: &Bench, output: &Self::Output) -> Bench {
        previous.after(random, &output.0, &output.1)
    }

    fn step(&mut self, bench: &Bench) -> Self::Output {
        (self.0.step(&bench.inputs, &bench.reports), self.0.set_points())
    }

    fn input_words(bench: &Bench, into: &mut Words) -> usize {
        let place = record(&bench.inputs, into, 0);
        reports(&bench.reports, into, place)
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        let place = record(&output.0, into, 0);
        record(&output.1, into, place)
    }
}
