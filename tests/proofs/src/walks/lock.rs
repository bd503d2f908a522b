//! The operator's own lock.

use trunnion::guard::{Lock, LockConfig, LockStart, LockState};
use trunnion::sense::{Flaw, Reading};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    hold: u32,
    start: LockStart,
}

/// The switch, and whether the levers are neutral.
type Inputs = (Reading<bool>, bool);

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    /// What the switch last said, good or bad; nothing before the first step.
    seen: bool,
    /// It was seen at "locked" since the start and since it last had no reading.
    at_locked: bool,
    /// It had no reading at some time.
    was_faulted: bool,
    neutral: Run,
    unlocked: bool,
}

const UNLOCK: Reading<bool> = Reading::Valid(true);

/// The switch was moved there, or stood there at a start that takes it so.
fn is_meant(now: &Moment<'_, Rules>) -> bool {
    let as_found = now.rules.start == LockStart::AsFound && !now.before.was_faulted;
    now.before.at_locked || as_found
}

impl Walked for Rules {
    type Block = Lock;
    type Input = Inputs;
    type Output = LockState;
    type Memory = Memory;

    fn block(&self) -> Lock {
        Lock::new(LockConfig { hold: ticks(self.hold), start: self.start }, TICK).expect("a time in range")
    }

    fn inputs(&self) -> Vec<Inputs> {
        let switches = [Reading::Valid(false), UNLOCK, Reading::Faulted(Flaw::Disagreement)];
        switches.into_iter().flat_map(|switch| [(switch, false), (switch, true)]).collect()
    }

    fn step(block: &mut Lock, (switch, neutral): Inputs) -> LockState {
        block.step(switch, neutral)
    }

    fn remember(&self, memory: &mut Memory, (switch, neutral): Inputs, state: LockState) {
        memory.seen = true;
        match switch {
            Reading::Valid(false) => memory.at_locked = true,
            Reading::Valid(true) => {}
            Reading::Faulted(_) => (memory.at_locked, memory.was_faulted) = (false, true),
        }
        memory.neutral.note(switch == UNLOCK && neutral);
        memory.unlocked = state == LockState::Unlocked;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use LockState::{Locked, MustCycle, NotNeutral, Unlocked};
        vec![
            always("it is locked, in the same step, exactly while the switch does not say unlock", |now| {
                (now.output == Locked) == (now.input.0 != UNLOCK)
            }),
            always("it unlocks only when that was meant", |now| now.output != Unlocked || is_meant(now)),
            always("and after the levers were neutral for longer than the time", |now| {
                now.output != Unlocked || now.before.unlocked || now.after.neutral.steps() > now.rules.hold
            }),
            always("meant, and neutral for longer than the time, it is unlocked", |now| {
                !(is_meant(now) && now.after.neutral.steps() > now.rules.hold) || now.output == Unlocked
            }),
            always("once unlocked the levers may move", |now| {
                !(now.before.unlocked && now.input.0 == UNLOCK) || now.output == Unlocked
            }),
            always("a switch that must be moved first is told", |now| {
                (now.output == MustCycle) == (now.input.0 == UNLOCK && !is_meant(now))
            }),
            sometimes("it unlocks", |now| now.output == Unlocked && !now.before.unlocked),
            sometimes("levers are waited for", |now| now.output == NotNeutral),
            sometimes("a wire that comes back does not unlock", |now| {
                now.output == MustCycle && now.before.was_faulted
            }),
            planted("it takes one step more", |now| {
                now.output != Unlocked
                    || now.before.unlocked
                    || now.after.neutral.steps() > now.rules.hold + 1
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("lock", "guard/lock", "hold of 0 to 3 steps with both start rules", |bench| {
        let rules: Vec<Rules> = (0..4)
            .flat_map(|hold| LockStart::ALL.iter().map(move |start| Rules { hold, start: *start }))
            .collect();
        family(bench, "lock", &rules)
    })
}
