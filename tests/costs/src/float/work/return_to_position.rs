//! Brings a cylinder to a set position and stops there, in `f32`.

use crate::float::number::{ONE, Reading, reading, share, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::work::return_to_position::Block;

/// Shares of the stroke and of full command; the time-out in steps.
pub struct Rules {
    pub(crate) position: f32,
    pub(crate) window: f32,
    pub(crate) approach: f32,
    pub(crate) speed: f32,
    pub(crate) end_speed: f32,
    pub(crate) neutral: f32,
    pub(crate) time_out: u32,
}

/// What a step takes.
#[derive(Clone, Copy)]
pub struct ReturnInputs {
    pub(crate) permitted: bool,
    pub(crate) request: bool,
    pub(crate) lever: f32,
    pub(crate) position: Reading,
}

#[derive(Clone, Copy, PartialEq)]
enum Mode {
    Lever,
    Asked,
    Returning,
}

/// The configuration, resolved to a step, and the state.
pub struct ReturnToPosition {
    rules: Rules,
    mode: Mode,
    ahead: f32,
    ran_for: u32,
    let_go_first: bool,
}

impl ReturnToPosition {
    pub(crate) fn with(rules: Rules) -> Self {
        Self { rules, mode: Mode::Lever, ahead: 0.0, ran_for: 0, let_go_first: false }
    }

    pub(crate) fn step(&mut self, inputs: &ReturnInputs) -> f32 {
        let neutral = inputs.lever.abs() <= self.rules.neutral;
        self.let_go_first = self.let_go_first && !neutral;
        self.mode = match self.mode {
            Mode::Lever if inputs.request && inputs.permitted => self.set_out(neutral, inputs.position),
            Mode::Lever => Mode::Lever,
            _ if inputs.request || !inputs.permitted => self.end(),
            Mode::Returning if !neutral => Mode::Lever,
            Mode::Asked if !neutral => Mode::Asked,
            Mode::Asked | Mode::Returning => Mode::Returning,
        };
        if self.mode != Mode::Lever {
            return self.on_the_way(inputs.position);
        }
        if inputs.permitted && !self.let_go_first { inputs.lever } else { 0.0 }
    }

    pub(crate) fn returning(&self) -> bool {
        self.mode != Mode::Lever
    }

    fn set_out(&mut self, neutral: bool, position: Reading) -> Mode {
        self.ran_for = 0;
        match position {
            None => self.end(),
            Some(position) => {
                self.ahead = self.rules.position - position;
                if neutral { Mode::Returning } else { Mode::Asked }
            }
        }
    }

    fn end(&mut self) -> Mode {
        self.mode = Mode::Lever;
        self.let_go_first = true;
        Mode::Lever
    }

    fn on_the_way(&mut self, position: Reading) -> f32 {
        self.ran_for += 1;
        if let Some(position) = position
            && self.ran_for <= self.rules.time_out
        {
            let distance = self.rules.position - position;
            if distance.abs() > self.rules.window && distance * self.ahead > 0.0 {
                return self.command(distance);
            }
        }
        self.end();
        0.0
    }

    fn command(&self, distance: f32) -> f32 {
        let beyond = (distance.abs() - self.rules.window) / (self.rules.approach - self.rules.window);
        let command = self.rules.end_speed + (self.rules.speed - self.rules.end_speed) * smaller(beyond, 1.0);
        if distance < 0.0 { -command } else { command }
    }
}

/// The block with the configuration of its subject.
pub struct Twin(ReturnToPosition);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = ReturnInputs;
    type Output = (f32, bool);

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(ReturnToPosition::with(Rules {
            position: 0.3,
            window: 0.01,
            approach: 0.15,
            speed: 0.8,
            end_speed: 0.15,
            neutral: 0.05,
            time_out: 800,
        }))
    }

    fn input(words: &Words) -> Self::Input {
        ReturnInputs {
            permitted: words[0] != 0,
            request: words[1] != 0,
            lever: share(words[2]),
            position: reading(words[3], share(words[4])),
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let command = self.0.step(input);
        (command, self.0.returning())
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0 * ONE;
        into[1] = f32::from(u8::from(output.1));
        2
    }
}
