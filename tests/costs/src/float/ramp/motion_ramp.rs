//! One motion with its own times for each direction and phase, in `f32`.

use crate::float::number::{ONE, approached, opposed, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::ramp::motion_ramp::Block;

/// Shares of full scale per step of 10 ms.
#[derive(Clone, Copy)]
pub struct Rates {
    pub(crate) accelerate: f32,
    pub(crate) decelerate: f32,
    pub(crate) reverse: f32,
}

impl Rates {
    /// From times in ms.
    pub(crate) fn of(accelerate: f32, decelerate: f32, reverse: f32) -> Self {
        Self { accelerate: 10.0 / accelerate, decelerate: 10.0 / decelerate, reverse: 10.0 / reverse }
    }

    pub(crate) fn approach(&self, from: f32, goal: f32) -> f32 {
        if opposed(from, goal) {
            approached(from, 0.0, self.reverse)
        } else if goal.abs() > from.abs() {
            approached(from, goal, self.accelerate)
        } else {
            approached(from, goal, self.decelerate)
        }
    }
}

/// What a ramp does with its motion.
#[derive(Clone, Copy, PartialEq)]
pub enum Phase {
    /// What is asked is reached.
    Holding,
    /// More is asked.
    Accelerating,
    /// Less is asked.
    Decelerating,
    /// The opposite is asked.
    Reversing,
}

impl Phase {
    fn of(from: f32, goal: f32) -> Self {
        if opposed(from, goal) {
            Self::Reversing
        } else if goal.abs() > from.abs() {
            Self::Accelerating
        } else if goal.abs() < from.abs() {
            Self::Decelerating
        } else {
            Self::Holding
        }
    }
}

/// The configuration, resolved to a step, and the state.
pub struct MotionRamp {
    positive: Rates,
    negative: Rates,
    dwell: u32,
    position: f32,
    came_from: f32,
    rested: u32,
    phase: Phase,
}

impl MotionRamp {
    /// At zero; the dwell in steps.
    pub(crate) fn with(positive: Rates, negative: Rates, dwell: u32) -> Self {
        Self { positive, negative, dwell, position: 0.0, came_from: 0.0, rested: 0, phase: Phase::Holding }
    }

    pub(crate) fn step(&mut self, target: f32) -> f32 {
        let from = self.position;
        let rests = from == 0.0 && self.must_rest(target);
        self.phase = Phase::of(if rests { self.came_from } else { from }, target);
        if from == 0.0 {
            self.rested = self.rested.saturating_add(1);
            if self.must_rest(target) {
                return 0.0;
            }
        }
        let direction = if from == 0.0 { target } else { from };
        let rates = if direction < 0.0 { &self.negative } else { &self.positive };
        self.position = rates.approach(from, target);
        if self.position != 0.0 {
            self.came_from = self.position;
            self.rested = 0;
        }
        self.position
    }

    pub(crate) fn phase(&self) -> Phase {
        self.phase
    }

    fn must_rest(&self, goal: f32) -> bool {
        self.rested < self.dwell && opposed(goal, self.came_from)
    }
}

/// The block with the configuration of its subject.
pub struct Twin(MotionRamp);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = f32;
    type Output = (f32, Phase);

    // A millionth of full scale, but for reversals: steps of 1/35 are no floats, so where the block arrives at zero a
    // rounding error may be left, and the twin rests there and goes on a step later, or a whole dwell.
    const DISTANCE: &'static [f32] = &[1024.0, 0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 20000;

    fn new() -> Self {
        Self(MotionRamp::with(Rates::of(350.0, 200.0, 150.0), Rates::of(450.0, 250.0, 180.0), 5))
    }

    fn input(words: &Words) -> Self::Input {
        share(words[0])
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let ramped = self.0.step(*input);
        (ramped, self.0.phase())
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0 * ONE;
        into[1] = f32::from(output.1 as u8);
        into[2] = f32::from(if output.0 > 0.0 {
            1_u8
        } else if output.0 < 0.0 {
            2
        } else {
            0
        });
        3
    }
}
