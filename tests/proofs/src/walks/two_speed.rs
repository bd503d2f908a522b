//! The range of two-speed motors.

use trunnion::propel::{TwoSpeed, TwoSpeedConfig, TwoSpeedInhibit, TwoSpeedInputs};
use trunnion::quantity::{Permille, Ratio};

use super::{TICK, entry, permille, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

const TURNING: i32 = 150;
const SPEED: i32 = 400;

#[derive(Debug, Clone, Copy)]
struct Rules {
    dwell: u32,
}

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    high: bool,
    /// It shifted before.
    shifted: bool,
    /// Steps since the last shift.
    since: Run,
}

fn shifts(now: &Moment<'_, Rules>) -> bool {
    now.output.0 != now.before.high
}

fn wanted(now: &Moment<'_, Rules>) -> bool {
    now.input.request && now.input.permitted
}

impl Walked for Rules {
    type Block = TwoSpeed;
    type Input = TwoSpeedInputs;
    type Output = (bool, TwoSpeedInhibit);
    type Memory = Memory;

    fn block(&self) -> TwoSpeed {
        let config = TwoSpeedConfig {
            up_below_turning: Permille::saturating(TURNING.into()),
            down_below_speed: Permille::saturating(SPEED.into()),
            dwell: ticks(self.dwell),
        };
        TwoSpeed::new(config, TICK).expect("rules in range")
    }

    fn inputs(&self) -> Vec<TwoSpeedInputs> {
        let around = |limit: i32| {
            let bits = i64::from(permille(limit).to_bits());
            [0, bits, bits + 1, -bits, -bits - 1].map(Ratio::saturating)
        };
        let mut inputs = Vec::new();
        for number in 0..4 {
            for turning in around(TURNING) {
                for speed in around(SPEED) {
                    let (request, permitted) = (number & 1 != 0, number & 2 != 0);
                    inputs.push(TwoSpeedInputs { request, permitted, turning, speed });
                }
            }
        }
        inputs
    }

    fn step(block: &mut TwoSpeed, inputs: TwoSpeedInputs) -> (bool, TwoSpeedInhibit) {
        let high = block.step(inputs);
        (high, block.why_inhibited())
    }

    fn remember(&self, memory: &mut Memory, _: TwoSpeedInputs, (high, _): (bool, TwoSpeedInhibit)) {
        if high == memory.high {
            memory.since.note(true);
        } else {
            memory.shifted = true;
            memory.since = Run::default();
        }
        memory.high = high;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("it shifts up only on request, with permission, and not while it turns too much", |now| {
                let may = wanted(now) && now.input.turning.magnitude() <= permille(TURNING);
                !(shifts(now) && now.output.0) || may
            }),
            always("it shifts down only when no longer wanted, and not too fast", |now| {
                let may = !wanted(now) && now.input.speed.magnitude() <= permille(SPEED);
                !shifts(now) || now.output.0 || may
            }),
            always("between two shifts at least the time in a range passes", |now| {
                !shifts(now) || !now.before.shifted || now.before.since.steps() + 1 >= now.rules.dwell
            }),
            always("with nothing against it, it shifts", |now| {
                let free = !now.before.shifted || now.before.since.steps() + 1 >= now.rules.dwell;
                let up = now.input.turning.magnitude() <= permille(TURNING);
                let down = now.input.speed.magnitude() <= permille(SPEED);
                let clear = free && if wanted(now) { up } else { down };
                !clear || now.output.0 == wanted(now)
            }),
            always(
                "nothing inhibits it exactly when it is in the range that may be, and a request was no vain one",
                |now| {
                    let vain = now.input.request && !now.input.permitted;
                    (now.output.1 == TwoSpeedInhibit::Nothing) == (now.output.0 == wanted(now) && !vain)
                },
            ),
            sometimes("up", |now| shifts(now) && now.output.0),
            sometimes("down", |now| shifts(now) && !now.output.0),
            sometimes("it turns too much", |now| now.output.1 == TwoSpeedInhibit::Turning),
            sometimes("it is too fast", |now| now.output.1 == TwoSpeedInhibit::TooFast),
            sometimes("it is not permitted", |now| now.output.1 == TwoSpeedInhibit::NotPermitted),
            planted("it shifts down at any speed", |now| wanted(now) || !now.output.0),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("two_speed", "propel/two_speed", "1 to 4 steps in a range", |bench| {
        family(bench, "two_speed", &[1, 2, 3, 4].map(|dwell| Rules { dwell }))
    })
}
