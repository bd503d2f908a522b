//! A two-digit code on one lamp, read as a person reads it.

use trunnion::fault::{BlinkCode, BlinkCodeConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Merge, Moment, Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    on: u32,
    off: u32,
    pause: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    lit: bool,
    /// Steps of the present blink or of the present dark.
    lasted: u8,
    long: u8,
    short: u8,
    /// The code that was asked for when the first blink began.
    asked: u8,
    dark: Run,
}

/// A code is read when the dark after its last blink is as long as the pause.
fn is_read(now: &Moment<'_, Rules>) -> bool {
    now.after.dark.steps() == now.rules.pause
        && now.before.dark.steps() + 1 == now.rules.pause
        && now.after.long + now.after.short > 0
}

fn read(memory: &Memory) -> u8 {
    10 * memory.long + memory.short
}

impl Walked for Rules {
    type Block = BlinkCode;
    type Input = u8;
    type Output = bool;
    type Memory = Memory;
    const MERGE: Merge = Merge::NOTHING;

    fn block(&self) -> BlinkCode {
        let config = BlinkCodeConfig { on: ticks(self.on), off: ticks(self.off), pause: ticks(self.pause) };
        BlinkCode::new(config, TICK).expect("times in range")
    }

    fn inputs(&self) -> Vec<u8> {
        vec![0, 1, 9, 10, 12, 40, 99, u8::MAX]
    }

    fn step(block: &mut BlinkCode, code: u8) -> bool {
        block.step(code)
    }

    fn remember(&self, memory: &mut Memory, code: u8, lit: bool) {
        let after_pause = memory.dark.steps() >= self.pause;
        if lit && !memory.lit {
            if after_pause || memory.long + memory.short == 0 {
                (memory.long, memory.short) = (0, 0);
                memory.asked = code.min(99);
            }
            memory.lasted = 0;
        }
        if !lit && memory.lit {
            // A long blink is three short ones.
            if u32::from(memory.lasted) == 3 * self.on {
                memory.long += 1;
            } else {
                memory.short += 1;
            }
        }
        memory.lasted = if lit { memory.lasted + 1 } else { 0 };
        memory.lit = lit;
        memory.dark.note(!lit);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("what a reader counts is the code that was asked for as it began", |now| {
                !is_read(now) || read(now.after) == now.after.asked
            }),
            always("a blink is short or three times as long, and nothing else", |now| {
                let ended = now.before.lit && !now.output;
                let lasted = u32::from(now.before.lasted);
                !ended || lasted == now.rules.on || lasted == 3 * now.rules.on
            }),
            always("between two blinks it is dark for the time, or for the pause at least", |now| {
                let begins = now.output && !now.before.lit && now.before.long + now.before.short > 0;
                let dark = now.before.dark.steps();
                !begins || dark == now.rules.off || dark >= now.rules.pause.min(Run::MOST.into())
            }),
            always("code 0 begins nothing", |now| {
                let between_codes =
                    now.before.dark.steps() >= now.rules.pause || now.before.long + now.before.short == 0;
                let begins = now.output && !now.before.lit && between_codes;
                !begins || now.input != 0
            }),
            sometimes("99 is read", |now| is_read(now) && read(now.after) == 99),
            sometimes("10 is read", |now| is_read(now) && read(now.after) == 10),
            sometimes("the code changes while another one is shown", |now| {
                is_read(now) && now.input != now.after.asked
            }),
            planted("a reader counts the code that is asked for now", |now| {
                !is_read(now) || read(now.after) == now.input.min(99)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "blink, dark and pause: 1, 1, 2; 1, 2, 4; 2, 1, 3; 2, 2, 5 steps";
    entry::<Rules>("blink_code", "fault/blink_code", family_of, |bench| {
        let times = [(1, 1, 2), (1, 2, 4), (2, 1, 3), (2, 2, 5)];
        family(bench, "blink_code", &times.map(|(on, off, pause)| Rules { on, off, pause }))
    })
}
