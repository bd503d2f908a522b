//! No motion before the levers were let go of.

use trunnion::guard::{NeutralStart, NeutralStartConfig, NeutralStartInputs, StartPhase};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Merge, Moment, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    hold: u32,
    frames: u8,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    /// Steps at neutral with all conditions, since the last permission.
    neutral: Run,
    /// New frames in that time.
    frames: u8,
    permitted: bool,
    /// Asked for since the operator last had to ask.
    asked: bool,
}

fn begins(now: &Moment<'_, Rules>) -> bool {
    now.output == StartPhase::Permitted && !now.before.permitted
}

impl Walked for Rules {
    type Block = NeutralStart;
    type Input = NeutralStartInputs;
    type Output = StartPhase;
    type Memory = Memory;
    const MERGE: Merge = Merge { bytes_above: 12, ..Merge::COUNTS };

    fn block(&self) -> NeutralStart {
        let config = NeutralStartConfig { hold: ticks(self.hold), frames: self.frames };
        NeutralStart::new(config, TICK).expect("rules in range")
    }

    fn inputs(&self) -> Vec<NeutralStartInputs> {
        let bit = |number: u32, place: u32| number & (1 << place) != 0;
        (0..32)
            .map(|number| NeutralStartInputs {
                conditions: bit(number, 0),
                neutral: bit(number, 1),
                new_frame: bit(number, 2),
                ask: bit(number, 3),
                ask_required: bit(number, 4),
            })
            .collect()
    }

    fn step(block: &mut NeutralStart, inputs: NeutralStartInputs) -> StartPhase {
        block.step(inputs)
    }

    fn remember(&self, memory: &mut Memory, inputs: NeutralStartInputs, phase: StartPhase) {
        let counts = inputs.conditions && inputs.neutral && !memory.permitted;
        memory.neutral.note(counts);
        memory.frames = if counts { (memory.frames + u8::from(inputs.new_frame)).min(9) } else { 0 };
        if inputs.ask_required {
            memory.asked = false;
        }
        if phase == StartPhase::Permitted && !memory.permitted && inputs.ask && !inputs.ask_required {
            memory.asked = true;
        }
        memory.permitted = phase == StartPhase::Permitted;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use StartPhase::{AwaitingAsk, Blocked, NotNeutral, Permitted};
        vec![
            always("a missing condition takes the permission away in the same step", |now| {
                (now.output == Blocked) != now.input.conditions
            }),
            always(
                "a permission begins only after the levers were neutral for longer than the time",
                |now| !begins(now) || now.after.neutral.steps() > now.rules.hold,
            ),
            always("and for the number of new frames", |now| {
                !begins(now) || now.after.frames >= now.rules.frames
            }),
            always("where the operator must ask, it begins only with asking, in that step", |now| {
                !begins(now) || now.before.asked || (now.input.ask && !now.input.ask_required)
            }),
            always("it never begins in a step in which asking is required", |now| {
                !begins(now) || !now.input.ask_required
            }),
            always("once given it stays while the conditions hold, wherever the levers are", |now| {
                !now.before.permitted || !now.input.conditions || now.output == Permitted
            }),
            always("levers that are not neutral are told", |now| {
                !now.input.conditions || now.before.permitted || now.input.neutral || now.output == NotNeutral
            }),
            always("it is waited for an ask only when all the rest is there", |now| {
                let long_enough =
                    now.after.neutral.steps() > now.rules.hold && now.after.frames >= now.rules.frames;
                now.output != AwaitingAsk || long_enough
            }),
            always("with all there, and asked for, it begins", |now| {
                let long_enough =
                    now.after.neutral.steps() > now.rules.hold && now.after.frames >= now.rules.frames;
                let asked = (now.before.asked || now.input.ask) && !now.input.ask_required;
                !(now.input.conditions && now.input.neutral && long_enough && asked)
                    || now.output == Permitted
            }),
            sometimes("a permission begins", begins),
            sometimes("a permission comes back without asking", |now| begins(now) && !now.input.ask),
            sometimes("the levers move while permitted", |now| now.output == Permitted && !now.input.neutral),
            sometimes("an ask is waited for", |now| now.output == AwaitingAsk),
            planted("it takes one step at neutral more", |now| {
                let earliest = (now.rules.hold + 1).max(now.rules.frames.into());
                !begins(now) || now.after.neutral.steps() > earliest
            }),
            planted("asking early is enough", |now| {
                !now.input.ask || !now.input.neutral || now.output != NotNeutral
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "neutral for 1 to 4 steps and 1 to 4 frames, each with each";
    entry::<Rules>("neutral_start", "guard/neutral_start", family_of, |bench| {
        let rules: Vec<Rules> =
            (1..5).flat_map(|hold| (1..5).map(move |frames| Rules { hold, frames })).collect();
        family(bench, "neutral_start", &rules)
    })
}
