//! A lamp that is steady, or flashes.

use trunnion::timing::{Flasher, FlasherConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    half: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    lit: Run,
    dark: Run,
}

impl Walked for Rules {
    type Block = Flasher;
    /// Whether it is to flash.
    type Input = bool;
    /// Whether it is lit.
    type Output = bool;
    type Memory = Memory;

    fn block(&self) -> Self::Block {
        Flasher::new(FlasherConfig { half: ticks(self.half) }, TICK).expect("a time in range")
    }

    fn inputs(&self) -> Vec<Self::Input> {
        vec![false, true]
    }

    fn step(block: &mut Self::Block, flashing: bool) -> bool {
        block.step(flashing)
    }

    fn remember(&self, memory: &mut Memory, flashing: bool, lit: bool) {
        memory.lit.note(lit && flashing);
        memory.dark.note(!lit);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it is lit while it is not to flash", |now| now.input || now.output),
            always("it is dark for at most a half", |now| now.after.dark.steps() <= now.rules.half),
            always("while flashing it is lit for at most a half", |now| {
                now.after.lit.steps() <= now.rules.half
            }),
            always("it goes dark only after a whole half of flashing", |now| {
                now.output || now.before.dark.steps() > 0 || now.before.lit.steps() + 1 >= now.rules.half
            }),
            sometimes("it goes dark", |now| !now.output),
            sometimes("it is lit again while flashing", |now| {
                now.input && now.output && now.before.dark.steps() > 0
            }),
            planted("it is never dark for longer than a step", |now| now.after.dark.steps() <= 1),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("flasher", "timing/flasher", "halves of 2 to 5 steps", |bench| {
        family(bench, "flasher", &[2, 3, 4, 5].map(|half| Rules { half }))
    })
}
