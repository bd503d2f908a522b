//! Dither of a set-point.

use trunnion::quantity::{Milliamps, Millis, Period};
use trunnion::valve::{Dither, DitherConfig};

use super::entry;
use crate::proof::Proof;
use crate::walk::{Requirement, Walked, always, family, planted, sometimes};

const AMPLITUDE: u16 = 30;

#[derive(Debug, Clone, Copy)]
struct Rules {
    /// Steps of half a cycle.
    half: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    /// The set-point, for as long as it stays the same.
    set: u16,
    /// Steps of the running cycle, and the sum of what was added in it.
    steps: u32,
    sum: i32,
}

impl Walked for Rules {
    type Block = Dither;
    type Input = u16;
    type Output = i32;
    type Memory = Memory;

    fn block(&self) -> Dither {
        let config = DitherConfig {
            amplitude: Milliamps::saturating(AMPLITUDE.into()),
            cycle: Millis::millis(2 * self.half),
        };
        Dither::new(config, Period::from_micros(1_000).expect("a period")).expect("an even cycle")
    }

    fn inputs(&self) -> Vec<u16> {
        vec![0, 1, AMPLITUDE - 1, AMPLITUDE, 400]
    }

    fn step(block: &mut Dither, set: u16) -> i32 {
        i32::from(block.step(Milliamps::saturating(set.into())).raw())
    }

    fn remember(&self, memory: &mut Memory, set: u16, output: i32) {
        let cycle_over = memory.steps == 2 * self.half;
        if set != memory.set || cycle_over {
            *memory = Memory { set, steps: 0, sum: 0 };
        }
        memory.steps += 1;
        memory.sum += output - i32::from(set);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("no current is not dithered", |now| now.input != 0 || now.output == 0),
            always(
                "it is above or below the set-point by the amplitude, or by the set-point where that is smaller",
                |now| {
                    let height = i32::from(now.input.min(AMPLITUDE));
                    (now.output - i32::from(now.input)).abs() == height
                },
            ),
            always("over a whole cycle of one set-point the mean is the set-point", |now| {
                now.after.steps != 2 * now.rules.half || now.after.sum == 0
            }),
            always("after no current the wave starts above", |now| {
                now.before.set != 0 || now.input == 0 || now.output > i32::from(now.input)
            }),
            sometimes("below", |now| now.output < i32::from(now.input)),
            planted("over half a cycle the mean is the set-point", |now| {
                now.after.steps != now.rules.half || now.after.sum == 0
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("dither", "valve/dither", "cycles of 2, 4, 6 and 10 steps, 30 mA", |bench| {
        family(bench, "dither", &[1, 2, 3, 5].map(|half| Rules { half }))
    })
}
