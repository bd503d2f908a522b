//! Faults: debounce, latch, and what follows from the active set.

use trunnion::declare::{FaultSet, Latch, Reactions};
use trunnion::fault::FaultTable;

use super::{TICK, entry};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

trunnion::faults! {
    /// One of each latch, with other times.
    pub enum Fault {
        /// Gone with its cause.
        Present: spn 520_200, fmi 1, set 200, clear 100, Latch::WhilePresent, Reactions(1), blink 31, "here";
        /// Kept until the levers are released.
        Kept: spn 520_201, fmi 2, set 0, clear 200, Latch::UntilNeutral, Reactions(2), blink 11, "there";
        /// Kept until a restart.
        Locked: spn 520_202, fmi 3, set 100, clear 0, Latch::UntilRestart, Reactions(4), blink 21, "elsewhere";
    }
}

const PLACES: [usize; Fault::COUNT] = [0, 1, 2];
const TICK_MILLIS: u32 = 100;

#[derive(Debug, Clone, Copy)]
struct Rules;

#[derive(Debug, Clone, Copy, PartialEq)]
struct Inputs {
    conditions: [bool; Fault::COUNT],
    all_neutral: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Answer {
    active: [bool; Fault::COUNT],
    reactions: u16,
    blink: u8,
    count: u8,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    active: [bool; Fault::COUNT],
    present: [Run; Fault::COUNT],
    absent: [Run; Fault::COUNT],
}

fn set_steps(place: usize) -> u32 {
    Fault::RULES[place].set_after.ticks() / TICK_MILLIS
}

fn clear_steps(place: usize) -> u32 {
    Fault::RULES[place].clear_after.ticks() / TICK_MILLIS
}

impl Walked for Rules {
    type Block = FaultTable<Fault, { Fault::COUNT }>;
    type Input = Inputs;
    type Output = Answer;
    type Memory = Memory;

    fn block(&self) -> Self::Block {
        FaultTable::new(TICK)
    }

    fn inputs(&self) -> Vec<Inputs> {
        (0..16)
            .map(|number| Inputs {
                conditions: PLACES.map(|place| number & (1 << place) != 0),
                all_neutral: number & 8 != 0,
            })
            .collect()
    }

    fn step(table: &mut Self::Block, inputs: Inputs) -> Answer {
        table.step(&inputs.conditions, inputs.all_neutral);
        Answer {
            active: PLACES.map(|place| table.is_place_active(place as u16)),
            reactions: table.reactions().0,
            blink: table.blink(),
            count: table.count_active(),
        }
    }

    fn remember(&self, memory: &mut Memory, inputs: Inputs, output: Answer) {
        for place in PLACES {
            memory.present[place].note(inputs.conditions[place]);
            memory.absent[place].note(!inputs.conditions[place]);
        }
        memory.active = output.active;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("a fault is set only after its condition held for longer than its time", |now| {
                PLACES.iter().all(|&place| {
                    let sets = now.output.active[place] && !now.before.active[place];
                    !sets || now.after.present[place].steps() > set_steps(place)
                })
            }),
            always("a condition that held for longer than its time sets its fault", |now| {
                PLACES.iter().all(|&place| {
                    now.output.active[place] || now.after.present[place].steps() <= set_steps(place)
                })
            }),
            always("a fault clears only after its condition was gone for longer than its time", |now| {
                PLACES.iter().all(|&place| {
                    let clears = !now.output.active[place] && now.before.active[place];
                    !clears || now.after.absent[place].steps() > clear_steps(place)
                })
            }),
            always("one that is kept until neutral clears only with all levers neutral", |now| {
                let clears = now.before.active[1] && !now.output.active[1];
                !clears || now.input.all_neutral
            }),
            always("one that is kept until a restart never clears", |now| {
                !now.before.active[2] || now.output.active[2]
            }),
            always("one that is not kept clears after its time", |now| {
                !now.output.active[0] || now.after.absent[0].steps() <= clear_steps(0)
            }),
            always("reactions, count and blink code are those of the active faults", |now| {
                let active = || PLACES.iter().filter(|place| now.output.active[**place]);
                let reactions = active().fold(0, |all, place| all | Fault::RULES[*place].reactions.0);
                let blink = active().map(|place| Fault::RULES[*place].blink).min().unwrap_or(0);
                let expected = (reactions, blink, active().count() as u8);
                (now.output.reactions, now.output.blink, now.output.count) == expected
            }),
            sometimes("all are active", |now| now.output.count == 3),
            sometimes("a kept fault clears", |now| now.before.active[1] && !now.output.active[1]),
            sometimes("a kept fault waits for the levers", |now| {
                now.output.active[1] && now.after.absent[1].steps() > clear_steps(1)
            }),
            planted("setting takes one step more", |now| {
                PLACES.iter().all(|&place| {
                    let sets = now.output.active[place] && !now.before.active[place];
                    !sets || now.after.present[place].steps() > set_steps(place) + 1
                })
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "three faults, one of each latch: set after 2, 0, 1 and clear after 1, 2, 0 steps";
    entry::<Rules>("fault_table", "fault/table", family_of, |bench| family(bench, "fault_table", &[Rules]))
}
