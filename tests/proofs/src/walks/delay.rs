//! On-delay and off-delay.

use trunnion::timing::{OffDelay, OffDelayConfig, OnDelay, OnDelayConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct On {
    delay: u32,
}

#[derive(Debug, Clone, Copy)]
struct Off {
    delay: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    high: Run,
    low: Run,
    was_high: bool,
    output: bool,
}

impl Memory {
    fn note(&mut self, level: bool, output: bool) {
        self.high.note(level);
        self.low.note(!level);
        self.was_high |= level;
        self.output = output;
    }
}

impl Walked for On {
    type Block = OnDelay;
    type Input = bool;
    type Output = bool;
    type Memory = Memory;

    fn block(&self) -> OnDelay {
        OnDelay::new(OnDelayConfig { delay: ticks(self.delay) }, TICK).expect("a delay in range")
    }

    fn inputs(&self) -> Vec<bool> {
        vec![false, true]
    }

    fn step(block: &mut OnDelay, level: bool) -> bool {
        block.step(level)
    }

    fn remember(&self, memory: &mut Memory, level: bool, output: bool) {
        memory.note(level, output);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it is on exactly while the level was true for longer than the delay", |now| {
                now.output == (now.after.high.steps() > now.rules.delay)
            }),
            always("a false level switches it off in the same step", |now| now.input || !now.output),
            sometimes("it comes on", |now| now.output && !now.before.output),
            planted("it comes on one step later", |now| {
                now.output == (now.after.high.steps() > now.rules.delay + 1)
            }),
        ]
    }
}

impl Walked for Off {
    type Block = OffDelay;
    type Input = bool;
    type Output = bool;
    type Memory = Memory;

    fn block(&self) -> OffDelay {
        OffDelay::new(OffDelayConfig { delay: ticks(self.delay) }, TICK).expect("a delay in range")
    }

    fn inputs(&self) -> Vec<bool> {
        vec![false, true]
    }

    fn step(block: &mut OffDelay, level: bool) -> bool {
        block.step(level)
    }

    fn remember(&self, memory: &mut Memory, level: bool, output: bool) {
        memory.note(level, output);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("a true level switches it on in the same step", |now| !now.input || now.output),
            always("it goes off exactly when the level was false for longer than the delay", |now| {
                !now.after.was_high || now.output == (now.after.low.steps() <= now.rules.delay)
            }),
            always("before the first true level it is off", |now| now.after.was_high || !now.output),
            sometimes("it goes off", |now| !now.output && now.before.output),
            planted("it holds on one step longer", |now| {
                !now.after.was_high || now.output == (now.after.low.steps() <= now.rules.delay + 1)
            }),
        ]
    }
}

pub(super) fn proof_of_on_delay() -> Proof {
    entry::<On>("on_delay", "timing/delay", "delay of 0 to 4 steps", |bench| {
        family(bench, "on_delay", &[0, 1, 2, 3, 4].map(|delay| On { delay }))
    })
}

pub(super) fn proof_of_off_delay() -> Proof {
    entry::<Off>("off_delay", "timing/delay", "delay of 0 to 4 steps", |bench| {
        family(bench, "off_delay", &[0, 1, 2, 3, 4].map(|delay| Off { delay }))
    })
}
