//! The lever pattern changes only at rest.

use trunnion::guard::{PatternLatch, PatternLatchConfig, PatternState};
use trunnion::lever::LeverPattern;

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    hold: u32,
}

type Rocker = Option<LeverPattern>;

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    rocker: Rocker,
    active: Rocker,
    rest: Run,
    steady: Run,
}

/// The rocker went from one valid position to another.
fn moved(now: &Moment<'_, Rules>) -> bool {
    now.before.rocker.is_some() && now.input.0.is_some() && now.before.rocker != now.input.0
}

fn changed(now: &Moment<'_, Rules>) -> bool {
    now.before.active != now.output.active
}

fn rested(now: &Moment<'_, Rules>) -> bool {
    now.after.rest.steps() > now.rules.hold
}

impl Walked for Rules {
    type Block = PatternLatch<LeverPattern>;
    /// Rocker, and whether the machine is at rest.
    type Input = (Rocker, bool);
    type Output = PatternState<LeverPattern>;
    type Memory = Memory;

    fn block(&self) -> Self::Block {
        PatternLatch::new(PatternLatchConfig { hold: ticks(self.hold) }, TICK).expect("a time in range")
    }

    fn inputs(&self) -> Vec<Self::Input> {
        let rockers = [None, Some(LeverPattern::H), Some(LeverPattern::Iso)];
        rockers.into_iter().flat_map(|rocker| [(rocker, false), (rocker, true)]).collect()
    }

    fn step(block: &mut Self::Block, (rocker, at_rest): Self::Input) -> Self::Output {
        block.step(rocker, at_rest)
    }

    fn remember(&self, memory: &mut Memory, (rocker, at_rest): Self::Input, output: Self::Output) {
        memory.rest.note(at_rest);
        memory.steady.note(rocker.is_some() && rocker == memory.rocker);
        memory.rocker = rocker;
        memory.active = output.active;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("an invalid or missing rocker takes the pattern away in the same step", |now| {
                now.input.0.is_some() || now.output.active.is_none()
            }),
            always("no pattern comes or changes but after rest for longer than the time", |now| {
                !changed(now) || now.output.active.is_none() || rested(now)
            }),
            always(
                "a pattern that is in force is changed only by a move of the rocker in that step",
                |now| {
                    !changed(now) || now.before.active.is_none() || now.output.active.is_none() || moved(now)
                },
            ),
            always("a first pattern is the rocker's, and the rocker was steady for the time", |now| {
                now.before.active.is_some()
                    || now.output.active.is_none()
                    || (now.output.active == now.input.0 && now.after.steady.steps() >= now.rules.hold)
            }),
            always("a move after rest for longer than the time is obeyed", |now| {
                !(moved(now) && rested(now) && now.before.active.is_some())
                    || now.output.active == now.input.0
            }),
            always("a request at a wrong moment is told as dropped, and only that", |now| {
                let wanted = moved(now) && now.before.active.is_some() && now.before.active != now.input.0;
                now.output.dropped == (wanted && !rested(now))
            }),
            always("a mismatch is told exactly while rocker and pattern differ", |now| {
                let differ = now.output.active.is_some() && now.output.active != now.input.0;
                now.output.mismatch == differ
            }),
            always("a change is told exactly in its step", |now| now.output.changed == changed(now)),
            sometimes("a first pattern comes", |now| {
                now.before.active.is_none() && now.output.active.is_some()
            }),
            sometimes("the pattern changes", |now| {
                changed(now) && now.before.active.is_some() && now.output.active.is_some()
            }),
            sometimes("a request is dropped", |now| now.output.dropped),
            sometimes("a mismatch lasts at rest: nothing is queued", |now| {
                now.output.mismatch && rested(now)
            }),
            planted("a mismatch ends with rest: requests are queued", |now| {
                !(now.output.mismatch && now.after.rest.steps() > now.rules.hold + 2)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("pattern_latch", "guard/pattern_latch", "rest of 1 to 4 steps", |bench| {
        family(bench, "pattern_latch", &[1, 2, 3, 4].map(|hold| Rules { hold }))
    })
}
