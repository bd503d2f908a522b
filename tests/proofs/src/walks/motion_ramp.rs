//! One motion with its own times for each direction and phase.

use trunnion::quantity::Ratio;
use trunnion::ramp::{MotionPhase, MotionRamp, MotionRampConfig, MotionRates, MotionState};

use super::{TICK, entry, permille, ticks};
use crate::proof::Proof;
use crate::walk::{Moment, Requirement, Run, Walked, always, family, planted, sometimes};

/// Steps for full scale.
#[derive(Debug, Clone, Copy)]
struct Times {
    accelerate: u32,
    decelerate: u32,
    reverse: u32,
}

#[derive(Debug, Clone, Copy)]
struct Rules {
    positive: Times,
    negative: Times,
    dwell: u32,
}

type Answer = (Ratio, MotionState, MotionPhase);

#[derive(Debug, Clone, Default, PartialEq, Hash)]
struct Memory {
    output: Ratio,
    /// The sign of the last motion.
    came_from: i8,
    /// Steps at exactly zero.
    rested: Run,
}

fn rates(times: Times) -> MotionRates {
    MotionRates {
        accelerate: ticks(times.accelerate),
        decelerate: ticks(times.decelerate),
        reverse: ticks(times.reverse),
    }
}

/// One full scale in so many steps, rounded up to 2⁻³⁰, and one more for the rounding of the output.
fn most(steps: u32) -> i64 {
    i64::from((Ratio::ONE_BITS as u32).div_ceil(steps)) + 1
}

fn change(now: &Moment<'_, Rules>) -> i64 {
    (i64::from(now.output.0.to_bits()) - i64::from(now.before.output.to_bits())).abs()
}

/// The times that apply: those of the side on which it is, or is going.
fn times(now: &Moment<'_, Rules>) -> Times {
    let side = if now.before.output.is_zero() { now.input } else { now.before.output };
    if side < Ratio::ZERO { now.rules.negative } else { now.rules.positive }
}

impl Walked for Rules {
    type Block = MotionRamp;
    type Input = Ratio;
    type Output = Answer;
    type Memory = Memory;

    fn block(&self) -> MotionRamp {
        let config = MotionRampConfig {
            positive: rates(self.positive),
            negative: rates(self.negative),
            dwell: ticks(self.dwell),
        };
        MotionRamp::new(config, TICK).expect("times in range")
    }

    fn inputs(&self) -> Vec<Ratio> {
        vec![Ratio::MINUS_ONE, permille(-500), Ratio::ZERO, permille(500), Ratio::ONE]
    }

    fn step(block: &mut MotionRamp, target: Ratio) -> Answer {
        let output = block.step(target);
        (output, block.state(), block.phase())
    }

    fn remember(&self, memory: &mut Memory, _: Ratio, (output, ..): Answer) {
        memory.rested.note(output.is_zero());
        if !output.is_zero() {
            memory.came_from = output.to_bits().signum() as i8;
        }
        memory.output = output;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use MotionPhase::{Accelerating, Decelerating, Holding, Reversing};
        vec![
            always("it goes towards the target and never past it", |now| {
                let (low, high) = (now.input.min(now.before.output), now.input.max(now.before.output));
                (low..=high).contains(&now.output.0)
            }),
            always("no step is larger than the times of its side and phase allow", |now| {
                let times = times(now);
                let allowed = match now.output.2 {
                    Reversing => times.reverse,
                    Accelerating => times.accelerate,
                    Decelerating => times.decelerate,
                    Holding => return change(now) == 0,
                };
                change(now) <= most(allowed)
            }),
            always("a reversal goes to exactly zero first", |now| {
                !now.output.0.opposite_direction(now.before.output)
            }),
            always("and rests there for the time before it goes on", |now| {
                let turned = i32::from(now.before.came_from) * now.output.0.to_bits().signum() < 0;
                !turned || now.before.rested.steps() >= now.rules.dwell
            }),
            always("the opposite asked while it moves is a reversal", |now| {
                !now.input.opposite_direction(now.before.output) || now.output.2 == Reversing
            }),
            always("the state is the sign of the output", |now| {
                let expected = match now.output.0.to_bits().signum() {
                    1 => MotionState::Forward,
                    -1 => MotionState::Reverse,
                    _ => MotionState::Standing,
                };
                now.output.1 == expected
            }),
            always("it moves until it is there, or rests at zero", |now| {
                now.output.0 == now.input || change(now) > 0 || now.output.0.is_zero()
            }),
            sometimes("it reverses from one end to the other", |now| {
                now.output.0 == Ratio::MINUS_ONE && now.before.output < Ratio::ZERO
            }),
            sometimes("it holds at full scale", |now| {
                now.output == (Ratio::ONE, MotionState::Forward, Holding)
            }),
            planted("a reversal rests one step longer", |now| {
                let turned = i32::from(now.before.came_from) * now.output.0.to_bits().signum() < 0;
                !turned || now.before.rested.steps() > now.rules.dwell.max(1)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    // Powers of two, as for the rate limit.
    let family_of = "accelerate 2 or 4, decelerate 1 to 4, reverse 1 or 2 steps for full scale, other on the negative side; rest of 0 to 3 steps";
    entry::<Rules>("motion_ramp", "ramp/motion_ramp", family_of, |bench| {
        let mut rules = Vec::new();
        for dwell in 0..4 {
            for (accelerate, decelerate, reverse) in [(2, 1, 1), (4, 2, 1), (2, 4, 2)] {
                let positive = Times { accelerate, decelerate, reverse };
                let negative = Times { accelerate: 2, decelerate: 2, reverse: 1 };
                rules.push(Rules { positive, negative, dwell });
                rules.push(Rules { positive: negative, negative: positive, dwell });
            }
        }
        family(bench, "motion_ramp", &rules)
    })
}
