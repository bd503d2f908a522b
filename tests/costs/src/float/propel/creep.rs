//! The whole lever over a small share of the speed, in `f32`.

use crate::float::number::{ONE, larger, share, smaller};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::creep::Block;

/// What a step takes.
#[derive(Clone, Copy)]
pub struct CreepInputs {
    pub(crate) drive: f32,
    pub(crate) toggle: bool,
    pub(crate) faster: bool,
    pub(crate) slower: bool,
}

/// The state.
pub struct Creep {
    slowest: f32,
    fastest: f32,
    increment: f32,
    share: f32,
    on: bool,
}

impl Creep {
    /// Off; shares of the drive.
    pub(crate) fn with(slowest: f32, fastest: f32, first: f32, increment: f32) -> Self {
        Self { slowest, fastest, increment, share: first, on: false }
    }

    pub(crate) fn step(&mut self, inputs: &CreepInputs) -> f32 {
        if inputs.toggle && (!self.on || inputs.drive == 0.0) {
            self.on = !self.on;
        }
        if !self.on {
            return inputs.drive;
        }
        self.share = match (inputs.faster, inputs.slower) {
            (true, false) => smaller(self.share + self.increment, self.fastest),
            (false, true) => larger(self.share - self.increment, self.slowest),
            _ => self.share,
        };
        inputs.drive * self.share
    }

    pub(crate) fn on(&self) -> bool {
        self.on
    }

    pub(crate) fn share(&self) -> f32 {
        self.share
    }
}

/// The block with the configuration of its subject.
pub struct Twin(Creep);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = CreepInputs;
    type Output = (f32, bool, f32);

    // A millionth of full scale, and of the share: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0, 0.0, 0.001];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(Creep::with(0.05, 0.5, 0.2, 0.025))
    }

    fn input(words: &Words) -> Self::Input {
        CreepInputs {
            drive: share(words[0]),
            toggle: words[1] != 0,
            faster: words[2] != 0,
            slower: words[3] != 0,
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let drive = self.0.step(input);
        (drive, self.0.on(), self.0.share())
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0 * ONE;
        into[1] = f32::from(u8::from(output.1));
        into[2] = output.2 * 1000.0;
        3
    }
}
