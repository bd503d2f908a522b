//! The loader's whole control step, without service traffic, without the coil loop and without its black box.

use loader::control::Control;
use loader::declaration::{CoilReports, Inputs, Outputs, SetPoints};
use trunnion::declare::Record;
use trunnion::machine::{Boot, FastLoop, Machine, SafeStart};

use crate::loader_bench::{Bench, WORKING};
use crate::random::Random;
use crate::scale::{Subject, Words};

/// Without the black box.
pub type Block = Step<SafeStart<Control>>;

/// A loader's controller on the scale.
pub trait Whole:
    Machine<Inputs = Inputs, Outputs = Outputs, Fast: FastLoop<Report = CoilReports, SetPoints = SetPoints>>
{
    /// Name of the subject.
    const NAME: &'static str;
}

impl Whole for SafeStart<Control> {
    const NAME: &'static str = "path/loader";
}

/// Its step, with its default parameters.
pub struct Step<M>(M);

impl<M: Whole> Subject for Step<M> {
    const NAME: &'static str = M::NAME;
    const LEAD_IN: u32 = WORKING + 30;
    type Input = Bench;
    type Output = (Outputs, SetPoints);

    fn new() -> Self {
        Self(M::start(&Boot::default()).0)
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

    /// Each signal a word, its low one and then its high one where it has eight bytes; then five words for each report.
    fn input_words(bench: &Bench, into: &mut Words) -> usize {
        let place = record(&bench.inputs, into, 0);
        reports(&bench.reports, into, place)
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        let place = record(&output.0, into, 0);
        record(&output.1, into, place)
    }
}

fn record<R: Record>(record: &R, into: &mut Words, mut place: usize) -> usize {
    record.visit(|bytes, raw| {
        let words = [raw as i32, (raw >> 32) as i32];
        for word in words.into_iter().take(if bytes > 4 { 2 } else { 1 }) {
            put(into, &mut place, word);
        }
    });
    place
}

fn reports(reports: &CoilReports, into: &mut Words, mut place: usize) -> usize {
    for report in reports {
        for word in [
            i32::from(report.average_current.raw()),
            report.average_duty.raw().into(),
            report.reachable.raw().into(),
            report.resistance.raw().into(),
            report.conditions.bits().into(),
        ] {
            put(into, &mut place, word);
        }
    }
    place
}

fn put(into: &mut Words, place: &mut usize, word: i32) {
    if let Some(there) = into.get_mut(*place) {
        *there = word;
    }
    *place = place.wrapping_add(1);
}
