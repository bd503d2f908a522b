//! Looks for open and crossed coils at start-up, with currents in `f32`.

use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::valve::test_pulse::Block;

/// Where it is.
#[derive(Clone, Copy, PartialEq)]
pub enum State {
    /// Under way.
    Testing,
    /// All are there.
    Passed,
    /// One is open or crossed.
    Failed,
}

/// The configuration, resolved to a step, and the state.
pub struct TestPulse<const COILS: usize> {
    enough: f32,
    steps: u32,
    coil: usize,
    step: u32,
    open: [bool; COILS],
    crossed: [bool; COILS],
}

impl<const COILS: usize> TestPulse<COILS> {
    /// The current that counts in mA, the length of a pulse in steps.
    pub(crate) fn with(enough: f32, steps: u32) -> Self {
        Self { enough, steps, coil: 0, step: 0, open: [false; COILS], crossed: [false; COILS] }
    }

    pub(crate) fn step(&mut self, measured: &[f32; COILS]) -> State {
        if self.coil < COILS {
            if self.step >= self.steps {
                self.judge(measured);
                self.coil += 1;
                self.step = 0;
            }
            self.step += 1;
        }
        if self.coil < COILS {
            State::Testing
        } else if self.open.contains(&true) || self.crossed.contains(&true) {
            State::Failed
        } else {
            State::Passed
        }
    }

    pub(crate) fn done(&self) -> bool {
        self.coil >= COILS
    }

    fn judge(&mut self, measured: &[f32; COILS]) {
        let (mut arrived, mut elsewhere) = (false, false);
        for (place, current) in measured.iter().enumerate() {
            let carries = *current >= self.enough;
            arrived |= carries && place == self.coil;
            elsewhere |= carries && place != self.coil;
        }
        if let (Some(open), Some(crossed)) = (self.open.get_mut(self.coil), self.crossed.get_mut(self.coil)) {
            *open = !arrived;
            *crossed = elsewhere;
        }
    }
}

/// The block with the configuration of its subject.
pub struct Twin(TestPulse<11>);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = [f32; 11];
    type Output = State;

    // Flags: comparisons of numbers that both have exactly or that lie farther apart than a rounding.
    const DISTANCE: &'static [f32] = &[0.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(TestPulse::with(100.0, 8))
    }

    fn input(words: &Words) -> Self::Input {
        core::array::from_fn(|place| words[place] as f32)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        if self.0.done() {
            self.0 = TestPulse::with(100.0, 8);
        }
        self.0.step(input)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = f32::from(*output as u8);
        1
    }
}
