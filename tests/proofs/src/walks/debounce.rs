//! Debouncing of a contact.

use trunnion::sense::{Debounce, DebounceConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    set: u32,
    clear: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    closed: Run,
    open: Run,
    state: bool,
}

impl Walked for Rules {
    type Block = Debounce;
    type Input = bool;
    type Output = bool;
    type Memory = Memory;

    fn block(&self) -> Debounce {
        let config = DebounceConfig { set_after: ticks(self.set), clear_after: ticks(self.clear) };
        Debounce::new(config, TICK).expect("times in range")
    }

    fn inputs(&self) -> Vec<bool> {
        vec![false, true]
    }

    fn step(block: &mut Debounce, level: bool) -> bool {
        block.step(level)
    }

    fn remember(&self, memory: &mut Memory, level: bool, state: bool) {
        memory.closed.note(level);
        memory.open.note(!level);
        memory.state = state;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it counts as closed only after it was closed for longer than its time", |now| {
                !now.output || now.before.state || now.after.closed.steps() > now.rules.set
            }),
            always("it counts as open only after it was open for longer than its time", |now| {
                now.output || !now.before.state || now.after.open.steps() > now.rules.clear
            }),
            always("closed for longer than its time, it counts as closed", |now| {
                now.output || now.after.closed.steps() <= now.rules.set
            }),
            always("open for longer than its time, it counts as open", |now| {
                !now.output || now.after.open.steps() <= now.rules.clear
            }),
            sometimes("it closes", |now| now.output && !now.before.state),
            sometimes("it opens again", |now| !now.output && now.before.state),
            planted("closing takes one step more", |now| {
                !now.output || now.before.state || now.after.closed.steps() > now.rules.set + 1
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>(
        "debounce",
        "sense/debounce",
        "set and clear after 0 to 3 steps, each with each",
        |bench| {
            let rules: Vec<Rules> =
                (0..4).flat_map(|set| (0..4).map(move |clear| Rules { set, clear })).collect();
            family(bench, "debounce", &rules)
        },
    )
}
