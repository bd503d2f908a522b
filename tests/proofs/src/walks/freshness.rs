//! Whether a value on the bus is alive.

use trunnion::sense::{Freshness, FreshnessConfig, FreshnessState};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

#[derive(Debug, Clone, Copy)]
struct Rules {
    time_out: u32,
    start_up: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    seen: bool,
    without: Run,
}

impl Walked for Rules {
    type Block = Freshness;
    type Input = bool;
    type Output = FreshnessState;
    type Memory = Memory;

    fn block(&self) -> Freshness {
        let config = FreshnessConfig { time_out: ticks(self.time_out), start_up: ticks(self.start_up) };
        Freshness::new(config, TICK).expect("times in range")
    }

    fn inputs(&self) -> Vec<bool> {
        vec![false, true]
    }

    fn step(block: &mut Freshness, valid_frame: bool) -> FreshnessState {
        block.step(valid_frame)
    }

    fn remember(&self, memory: &mut Memory, valid_frame: bool, _: FreshnessState) {
        memory.seen |= valid_frame;
        memory.without.note(!valid_frame);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use FreshnessState::{Fresh, Lost, NeverSeen, Waiting};
        vec![
            always("a valid frame makes it fresh in the same step", |now| !now.input || now.output == Fresh),
            always("it is fresh exactly while the last frame is younger than the time-out", |now| {
                let young = now.after.seen && now.after.without.steps() < now.rules.time_out;
                (now.output == Fresh) == (young || now.input)
            }),
            always("it is lost exactly when frames came and the last one is as old as the time-out", |now| {
                let old = now.after.seen && now.after.without.steps() >= now.rules.time_out;
                (now.output == Lost) == (old && !now.input)
            }),
            always("it is waited for exactly as long as the start-up window is open", |now| {
                let open = !now.after.seen && now.after.without.steps() <= now.rules.start_up;
                (now.output == Waiting) == open
            }),
            always("it was never seen exactly when the window closed without a frame", |now| {
                let closed = !now.after.seen && now.after.without.steps() > now.rules.start_up;
                (now.output == NeverSeen) == closed
            }),
            sometimes("it is lost", |now| now.output == Lost),
            sometimes("it was never seen", |now| now.output == NeverSeen),
            sometimes("a late first frame makes it fresh", |now| {
                now.output == Fresh && !now.before.seen && now.before.without.steps() > now.rules.start_up
            }),
            planted("it is lost one step later", |now| {
                now.output != Lost || now.after.without.steps() > now.rules.time_out
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of = "time-out of 1 to 4 steps, start-up window of 0 to 3 steps, each with each";
    entry::<Rules>("freshness", "sense/freshness", family_of, |bench| {
        let rules: Vec<Rules> =
            (1..5).flat_map(|time_out| (0..4).map(move |start_up| Rules { time_out, start_up })).collect();
        family(bench, "freshness", &rules)
    })
}
