//! One step of the loader's coil loop: eleven coils, five pairs. A coil takes an eleventh of it.

use loader::control::Control;
use loader::declaration::{Coil, FastInputs, FastOutputs, Parameters, SetPoints};
use trunnion::declare::Record;
use trunnion::machine::{FastLoop, Program};
use trunnion::quantity::{Milliamps, Millivolts};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// With its default parameters.
pub struct Block(<Control as Program>::Fast);

/// What is asked for and what is measured.
#[derive(Clone, Copy)]
pub struct Currents {
    set_points: SetPoints,
    measured: FastInputs,
}

/// Of all coils; that of a spool.
const CENTIOHMS: u32 = 610;

impl Subject for Block {
    const NAME: &'static str = "path/loader_coils";
    type Input = Currents;
    type Output = FastOutputs;

    fn new() -> Self {
        Self(Control::fast(&Parameters::default()).unwrap_or_else(|_| Control::idle_fast()))
    }

    fn input(_: &mut Random, _: Option<&Currents>) -> Currents {
        let supply = Millivolts::saturating(13_800);
        Currents { set_points: SetPoints { supply, ..SetPoints::default() }, measured: FastInputs::default() }
    }

    /// A set-point of one coil changes every tenth step, as control periods go; seldom two opposite coils are asked for at
    /// once. Currents follow the duties within four steps; rarely a coil is open or short for a step.
    fn input_after(random: &mut Random, previous: &Currents, duties: &FastOutputs) -> Currents {
        let mut next = *previous;
        if random.once_in(10) {
            let mut asked = previous.set_points.currents();
            let (place, opposite) = (random.below(Coil::COUNT as u32), random.once_in(40));
            let current = if random.once_in(3) {
                Milliamps::ZERO
            } else {
                Milliamps::saturating(random.between(250, 1_150).into())
            };
            for (index, set_point) in (0_u32..11).zip(&mut asked) {
                if index == place {
                    *set_point = current;
                } else if index ^ 1 == place && !opposite {
                    *set_point = Milliamps::ZERO;
                }
            }
            next.set_points =
                SetPoints { supply: previous.set_points.supply, ..SetPoints::from_currents(asked) };
        }
        let supply = u32::from(next.set_points.supply.raw());
        for ((index, before), duty) in (0_u16..11).zip(previous.measured.currents()).zip(duties.duties()) {
            let driven = u32::from(duty.raw()).wrapping_mul(supply) / (100 * CENTIOHMS);
            let way = (i64::from(driven)).saturating_sub(before.raw().into()) / 4;
            let measured = match random.below(8_000) {
                0 => 0,
                1 => 4_095,
                _ => i64::from(before.raw()).saturating_add(way),
            };
            next.measured.set(index, measured);
        }
        next
    }

    fn step(&mut self, currents: &Currents) -> FastOutputs {
        self.0.step(&currents.set_points, &currents.measured)
    }

    fn input_words(currents: &Currents, into: &mut Words) -> usize {
        let place = record(&currents.set_points, into, 0);
        record(&currents.measured, into, place)
    }

    fn output_words(duties: &FastOutputs, into: &mut Words) -> usize {
        record(duties, into, 0)
    }
}

fn record<R: Record>(record: &R, into: &mut Words, mut place: usize) -> usize {
    record.visit(|_, raw| {
        if let Some(word) = into.get_mut(place) {
            *word = raw as i32;
        }
        place = place.wrapping_add(1);
    });
    place
}
