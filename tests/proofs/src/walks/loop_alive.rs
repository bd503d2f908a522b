//! Whether the loop keeps its period.

use trunnion::guard::{LoopAlive, LoopAliveConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Merge, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    overruns: u8,
    forget: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    /// The counter was read before.
    read: bool,
    /// Overruns that are not forgotten.
    counted: u8,
    quiet: Run,
}

/// The block and the free-running counter before it, which wraps.
type Counted = (LoopAlive, u8);

impl Walked for Rules {
    type Block = Counted;
    /// Ticks that were missed since the last step.
    type Input = u8;
    type Output = bool;
    type Memory = Memory;
    const MERGE: Merge = Merge::NOTHING;

    fn block(&self) -> Counted {
        let config = LoopAliveConfig { overruns: self.overruns, forget_after: ticks(self.forget) };
        (LoopAlive::new(config, TICK).expect("rules in range"), u8::MAX)
    }

    fn inputs(&self) -> Vec<u8> {
        vec![0, 1, 3]
    }

    fn step((block, counter): &mut Counted, missed: u8) -> bool {
        *counter = counter.wrapping_add(missed);
        block.step(*counter)
    }

    fn remember(&self, memory: &mut Memory, missed: u8, _: bool) {
        let missed = if memory.read { missed } else { 0 };
        memory.read = true;
        memory.counted = memory.counted.saturating_add(missed);
        memory.quiet.note(missed == 0);
        if memory.quiet.steps() >= self.forget {
            memory.quiet = Run::default();
            memory.counted = memory.counted.saturating_sub(1);
        }
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("what was missed before the start does not count", |now| now.before.read || now.output),
            always(
                "it keeps its period exactly while fewer overruns are remembered than make it unreliable",
                |now| now.output == (now.after.counted < now.rules.overruns),
            ),
            always("so many overruns at once are told in the same step", |now| {
                !now.before.read || now.input < now.rules.overruns || !now.output
            }),
            sometimes("it is unreliable", |now| !now.output),
            sometimes("it recovers", |now| now.output && now.before.counted >= now.rules.overruns),
            sometimes("the count of overruns is at its end", |now| now.after.counted == u8::MAX),
            planted("it takes one overrun more", |now| {
                now.output == (now.after.counted <= now.rules.overruns)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "overruns and steps to forget one: 1 and 1, 1 and 3, 2 and 2, 3 and 1";
    entry::<Rules>("loop_alive", "guard/loop_alive", family_of, |bench| {
        let rules = [(1, 1), (1, 3), (2, 2), (3, 1)].map(|(overruns, forget)| Rules { overruns, forget });
        family(bench, "loop_alive", &rules)
    })
}
