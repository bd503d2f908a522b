//! One pump, and the brake in step with it, with its command in `f32`.

use crate::float::number::{ONE, share};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::single_path::Block;

/// What a step takes.
#[derive(Clone, Copy)]
pub struct SinglePathInputs {
    pub(crate) permitted: bool,
    pub(crate) charge_pressure_good: bool,
    pub(crate) drive: f32,
    pub(crate) standstill: bool,
}

/// Where it is.
#[derive(Clone, Copy, PartialEq)]
pub enum State {
    /// The brake holds.
    Braked,
    /// The brake opens.
    Opening,
    /// The lever drives.
    Driving,
    /// Comes to rest.
    Stopping,
}

/// The configuration, resolved to a step, and the state.
pub struct SinglePath {
    opening: u32,
    rest: u32,
    stop: u32,
    state: State,
    waited: u32,
}

impl SinglePath {
    /// Braked; times in steps.
    pub(crate) fn with(opening: u32, rest: u32, stop: u32) -> Self {
        Self { opening, rest, stop, state: State::Braked, waited: 0 }
    }

    pub(crate) fn step(&mut self, inputs: &SinglePathInputs) -> f32 {
        let wanted = inputs.permitted && inputs.charge_pressure_good;
        let asked = wanted && inputs.drive != 0.0;
        match self.state {
            _ if !inputs.charge_pressure_good => self.enter(State::Braked),
            State::Braked if asked => {
                self.enter(if self.opening == 0 { State::Driving } else { State::Opening });
            }
            State::Braked => {}
            State::Opening if !asked => self.enter(State::Braked),
            State::Opening => self.after(self.opening, State::Driving),
            State::Driving if !wanted => self.enter(State::Stopping),
            State::Driving if inputs.drive != 0.0 || !inputs.standstill => self.waited = 0,
            State::Driving => self.after(self.rest, State::Braked),
            State::Stopping if inputs.standstill => self.enter(State::Braked),
            State::Stopping => self.after(self.stop, State::Braked),
        }
        if self.state == State::Driving { inputs.drive } else { 0.0 }
    }

    pub(crate) fn state(&self) -> State {
        self.state
    }

    fn enter(&mut self, state: State) {
        self.state = state;
        self.waited = u32::from(state != State::Driving);
    }

    fn after(&mut self, steps: u32, state: State) {
        if self.waited >= steps {
            self.enter(state);
        } else {
            self.waited += 1;
        }
    }
}

/// The block with the configuration of its subject.
pub struct Twin(SinglePath);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = SinglePathInputs;
    type Output = (f32, State);

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0, 0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(SinglePath::with(20, 100, 300))
    }

    fn input(words: &Words) -> Self::Input {
        SinglePathInputs {
            permitted: words[0] != 0,
            charge_pressure_good: words[1] != 0,
            drive: share(words[2]),
            standstill: words[3] != 0,
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let command = self.0.step(input);
        (command, self.0.state())
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0 * ONE;
        into[1] = f32::from(output.1 as u8);
        2
    }
}
