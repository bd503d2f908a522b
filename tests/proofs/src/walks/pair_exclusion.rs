//! Two opposite coils of one spool: never both.

use trunnion::quantity::Milliamps;
use trunnion::valve::{PairExclusion, PairExclusionConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

const RELEASED: u16 = 50;
const SET: u16 = 400;

#[derive(Debug, Clone, Copy)]
struct Rules {
    pause: u32,
}

/// Of coil a, then coil b.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Inputs {
    set: [u16; 2],
    measured: [u16; 2],
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    coils: [Coil; 2],
}

/// What an observer knows of one coil.
#[derive(Debug, Clone, Copy, Default, PartialEq, Hash)]
struct Coil {
    driven: bool,
    /// Measured at or below the released current, not driven in the step before.
    released: Run,
    carrying: Run,
    /// Released for the pause, and neither driven nor carrying current for the pause since.
    free: bool,
}

/// The coil was driven in this step, and not in the one before.
fn begins(now: &Moment<'_, Rules>, coil: usize) -> bool {
    now.output[coil] > 0 && !now.before.coils[coil].driven
}

impl Walked for Rules {
    type Block = PairExclusion;
    type Input = Inputs;
    type Output = [u16; 2];
    type Memory = Memory;

    fn block(&self) -> PairExclusion {
        let config = PairExclusionConfig {
            released: Milliamps::saturating(RELEASED.into()),
            pause: ticks(self.pause),
        };
        PairExclusion::new(config, TICK).expect("rules in range")
    }

    fn inputs(&self) -> Vec<Inputs> {
        let mut inputs = Vec::new();
        for set_a in [0, SET] {
            for set_b in [0, SET] {
                for measured_a in [0, RELEASED, RELEASED + 1] {
                    for measured_b in [0, RELEASED, RELEASED + 1] {
                        inputs.push(Inputs { set: [set_a, set_b], measured: [measured_a, measured_b] });
                    }
                }
            }
        }
        inputs
    }

    fn step(block: &mut PairExclusion, Inputs { set, measured }: Inputs) -> [u16; 2] {
        let of = |raw: u16| Milliamps::saturating(raw.into());
        let (a, b) = block.step(of(set[0]), of(set[1]), of(measured[0]), of(measured[1]));
        [a.raw(), b.raw()]
    }

    fn remember(&self, memory: &mut Memory, inputs: Inputs, output: [u16; 2]) {
        for (coil, (measured, passed)) in memory.coils.iter_mut().zip(inputs.measured.iter().zip(output)) {
            let released = *measured <= RELEASED && !coil.driven;
            coil.released.note(released);
            coil.carrying.note(!released);
            if coil.released.steps() >= self.pause {
                coil.free = true;
            }
            coil.driven = passed > 0;
            if coil.driven || coil.carrying.steps() >= self.pause {
                coil.free = false;
            }
            if coil.driven {
                (coil.released, coil.carrying) = Default::default();
            }
        }
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("never both", |now| now.output[0] == 0 || now.output[1] == 0),
            always("both asked for is none", |now| {
                now.input.set[0] == 0 || now.input.set[1] == 0 || now.output == [0, 0]
            }),
            always("a set-point passes whole or not at all", |now| {
                (0..2).all(|coil| now.output[coil] == 0 || now.output[coil] == now.input.set[coil])
            }),
            always("a coil begins only when the opposite one was released for the pause", |now| {
                (0..2).all(|coil| !begins(now, coil) || now.after.coils[1 - coil].free)
            }),
            always("a running coil stops when the opposite one carries current for the pause", |now| {
                (0..2).all(|coil| {
                    now.output[coil] == 0 || now.after.coils[1 - coil].carrying.steps() < now.rules.pause
                })
            }),
            always("one that is asked for alone, with the opposite one free, runs", |now| {
                (0..2).all(|coil| {
                    let alone = now.input.set[coil] > 0 && now.input.set[1 - coil] == 0;
                    !alone || !now.after.coils[1 - coil].free || now.output[coil] == SET
                })
            }),
            sometimes("a runs", |now| now.output[0] > 0),
            sometimes("b runs", |now| now.output[1] > 0),
            sometimes("one has to wait for the other", |now| {
                now.before.coils[0].driven && now.input.set == [0, SET] && now.output == [0, 0]
            }),
            sometimes("a running coil is stopped by current in the other", |now| {
                now.before.coils[0].driven && now.input.set == [SET, 0] && now.output == [0, 0]
            }),
            planted("the wait is one step longer", |now| {
                (0..2).all(|coil| {
                    !begins(now, coil) || now.after.coils[1 - coil].released.steps() > now.rules.pause
                })
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("pair_exclusion", "valve/pair_exclusion", "pause of 1 to 4 steps", |bench| {
        family(bench, "pair_exclusion", &[1, 2, 3, 4].map(|pause| Rules { pause }))
    })
}
