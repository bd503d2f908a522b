//! A cylinder that finds its position by itself.

use trunnion::quantity::{Permille, Ratio};
use trunnion::sense::{Flaw, Reading};
use trunnion::work::{ReturnInputs, ReturnToPosition, ReturnToPositionConfig};

use super::{TICK, entry, permille, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

const POSITION: i32 = 500;
const WINDOW: i32 = 10;
const NEUTRAL: i32 = 50;

#[derive(Debug, Clone, Copy)]
struct Rules {
    time_out: u32,
}

/// The command, and whether it moves by itself.
type Answer = (Ratio, bool);

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    returning: Run,
    /// The lever was let go of since the return began.
    let_go: bool,
    /// A return ended and the lever was not let go of since.
    held_at_end: bool,
}

fn neutral(inputs: &ReturnInputs) -> bool {
    inputs.lever.magnitude() <= permille(NEUTRAL)
}

fn distance(now: &Moment<'_, Rules>) -> Option<Ratio> {
    now.input.position.valid().map(|position| permille(POSITION).minus(position))
}

fn was_returning(now: &Moment<'_, Rules>) -> bool {
    now.before.returning.steps() > 0
}

impl Walked for Rules {
    type Block = ReturnToPosition;
    type Input = ReturnInputs;
    type Output = Answer;
    type Memory = Memory;

    fn block(&self) -> ReturnToPosition {
        let of = |raw: i32| Permille::saturating(raw.into());
        let config = ReturnToPositionConfig {
            position: of(POSITION),
            window: of(WINDOW),
            approach: of(200),
            speed: of(900),
            end_speed: of(100),
            neutral: of(NEUTRAL),
            time_out: ticks(self.time_out),
        };
        ReturnToPosition::new(config, TICK).expect("values in range")
    }

    fn inputs(&self) -> Vec<ReturnInputs> {
        let places = [0, 400, POSITION - WINDOW, POSITION, POSITION + WINDOW + 1, 1000];
        let valid = places.map(|raw| Reading::Valid(permille(raw)));
        let positions = [valid.as_slice(), &[Reading::Faulted(Flaw::WireBreak)]].concat();
        let mut inputs = Vec::new();
        for number in 0..4 {
            let (permitted, request) = (number & 1 != 0, number & 2 != 0);
            for lever in [Ratio::ZERO, permille(NEUTRAL), permille(NEUTRAL + 1), Ratio::MINUS_ONE] {
                for position in positions.iter().copied() {
                    inputs.push(ReturnInputs { permitted, request, lever, position });
                }
            }
        }
        inputs
    }

    fn step(block: &mut ReturnToPosition, inputs: ReturnInputs) -> Answer {
        let command = block.step(inputs);
        (command, block.is_returning())
    }

    fn remember(&self, memory: &mut Memory, inputs: ReturnInputs, (_, returning): Answer) {
        let free = neutral(&inputs);
        let was = memory.returning.steps() > 0;
        let tried = inputs.request && inputs.permitted && !was;
        let cancelled_by_hand =
            was && !returning && memory.let_go && !free && inputs.permitted && !inputs.request;
        if (was || tried) && !returning && !cancelled_by_hand {
            memory.held_at_end = true;
        } else if free {
            memory.held_at_end = false;
        }
        memory.let_go = returning && ((was && memory.let_go) || free);
        memory.returning.note(returning);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it begins only with a request, with permission and a valid position", |now| {
                let begins = now.output.1 && !was_returning(now);
                !begins || (now.input.request && now.input.permitted && now.input.position.is_valid())
            }),
            always("it never points away from the position, and stands still inside the window", |now| {
                !now.output.1
                    || distance(now).is_some_and(|distance| {
                        distance.magnitude() > permille(WINDOW) && now.output.0.same_direction(distance)
                    })
            }),
            always("it ends with the permission, the reading, a new request", |now| {
                let ends = !now.input.permitted || !now.input.position.is_valid() || now.input.request;
                !(was_returning(now) && ends && now.output.1)
            }),
            always("it never lasts longer than its time-out", |now| {
                now.after.returning.steps() <= now.rules.time_out
            }),
            always("once the lever was let go of, a lever beyond neutral cancels at once and works", |now| {
                let cancels = was_returning(now) && now.before.let_go && !neutral(&now.input);
                !(cancels && now.input.permitted && !now.input.request)
                    || now.output == (now.input.lever, false)
            }),
            always("without permission nothing moves", |now| {
                now.input.permitted || now.output == (Ratio::ZERO, false)
            }),
            always("after it ended the lever works only once it was let go of", |now| {
                now.output.1 || !now.after.held_at_end || now.output.0.is_zero()
            }),
            always("otherwise the lever works", |now| {
                let lever = now.input.permitted && !now.output.1 && !now.after.held_at_end;
                !lever || now.output.0 == now.input.lever
            }),
            sometimes("it moves", |now| now.output.1),
            sometimes("it ends by its time-out", |now| {
                now.before.returning.steps() == now.rules.time_out
                    && !now.output.1
                    && now.input.permitted
                    && !now.input.request
                    && neutral(&now.input)
            }),
            sometimes("the lever of the detent does not cancel", |now| {
                was_returning(now) && now.output.1 && !neutral(&now.input)
            }),
            planted("it lasts one step less", |now| now.after.returning.steps() < now.rules.time_out),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "time-out of 2 to 5 steps; position 500 ‰, window 10 ‰";
    entry::<Rules>("return_to_position", "work/return_to_position", family_of, |bench| {
        family(bench, "return_to_position", &[2, 3, 4, 5].map(|time_out| Rules { time_out }))
    })
}
