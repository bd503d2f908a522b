//! Looks for open and crossed coils at start-up.

use crate::subject::{TICK, millis, permille};
use trunnion::quantity::Milliamps;
use trunnion::valve::{TestPulse, TestPulseConfig, TestPulseState};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Eleven coils, 200 mA for 80 ms each, half of it passes. The test begins anew after each end.
pub struct Block(TestPulse<11>);

/// The call of a test that ends it: the first starts the first pulse, each eighth after it judges one.
const LAST_CALL: u32 = 88;

/// What the coils carry, and what the stream has to remember for it.
#[derive(Clone, Copy)]
pub struct Inputs {
    currents: [Milliamps; 11],
    /// Which call of a test this is.
    call: u32,
    /// The coil that is open, or, from 11 on, crossed with the fourth one; `None` for none.
    fault: Option<u32>,
}

impl Subject for Block {
    const NAME: &'static str = "valve/test_pulse";
    type Input = Inputs;
    type Output = TestPulseState;

    fn new() -> Self {
        Self(built!(TestPulse::new(
            TestPulseConfig { current: Milliamps::saturating(200), length: millis(80), pass: permille(500) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let call = previous.map_or(0, |last| if last.call < LAST_CALL { last.call + 1 } else { 0 });
        let fault = match previous {
            Some(last) if call != 0 => last.fault,
            _ if random.once_in(2) => None,
            _ => Some(random.below(22)),
        };
        let pulsed = call.saturating_sub(1) / 8;
        let mut currents = [Milliamps::ZERO; 11];
        for (place, current) in (0..).zip(&mut currents) {
            let open = fault == Some(place);
            let crossed = pulsed == 3 && fault == Some(place + 11);
            let carries = (place == pulsed && !open) || crossed;
            let noise = random.below(60);
            *current = Milliamps::saturating(if carries { 150 + noise } else { noise }.into());
        }
        Inputs { currents, call, fault }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        if self.0.done() {
            self.0.reset();
        }
        self.0.step(&input.currents)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        for (word, current) in into.iter_mut().zip(input.currents) {
            *word = current.raw().into();
        }
        11
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = *output as i32;
        1
    }
}
