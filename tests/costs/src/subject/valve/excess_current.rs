//! A coil that carries more than was asked for.

use trunnion::quantity::Milliamps;
use trunnion::valve::{CoilReport, ExcessCurrent};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Coils of the machine.
const COILS: usize = 8;

/// Eight coils, 150 mA of stray current.
pub struct Block(ExcessCurrent<COILS>);

/// What each coil is asked for and what it carries.
#[derive(Clone, Copy)]
pub struct Currents {
    asked: [Milliamps; COILS],
    reports: [CoilReport; COILS],
}

impl Subject for Block {
    const NAME: &'static str = "valve/excess_current";
    type Input = Currents;
    type Output = bool;

    fn new() -> Self {
        Self(ExcessCurrent::new(Milliamps::saturating(150)))
    }

    fn input(random: &mut Random, previous: Option<&Currents>) -> Currents {
        let mut next = previous
            .copied()
            .unwrap_or(Currents { asked: [Milliamps::ZERO; COILS], reports: [CoilReport::default(); COILS] });
        for (asked, report) in next.asked.iter_mut().zip(&mut next.reports) {
            if random.once_in(12) {
                *asked = Milliamps::saturating(random.below(1_200).into());
            }
            let above = if random.once_in(100) { 600 } else { 20 };
            let current = i64::from(asked.raw()).saturating_add(random.between(-40, above).into());
            report.average_current = Milliamps::saturating(current);
        }
        next
    }

    fn step(&mut self, input: &Currents) -> bool {
        self.0.step(input.asked, &input.reports)
    }

    fn input_words(input: &Currents, into: &mut Words) -> usize {
        let carried = input.reports.iter().map(|report| report.average_current);
        for (word, current) in into.iter_mut().zip(input.asked.into_iter().chain(carried)) {
            *word = current.raw().into();
        }
        COILS.wrapping_mul(2)
    }

    fn output_words(excess: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*excess);
        1
    }
}
