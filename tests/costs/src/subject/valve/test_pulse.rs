//! Open coils are found by a pulse, at start-up.

use trunnion::quantity::Milliamps;
use trunnion::valve::{TestPulse, TestPulseConfig, TestPulseState};

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, milliamps, millis, permille};

/// 120 mA for 60 ms, eight coils, 500 ‰ of it is enough.
pub struct Block(TestPulse<8>);

impl Subject for Block {
    const NAME: &'static str = "valve/test_pulse";
    type Input = [Milliamps; 8];
    type Output = TestPulseState;

    fn new() -> Self {
        Self(built!(TestPulse::new(
            TestPulseConfig { current: milliamps(120), length: millis(60), pass: permille(500) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&[Milliamps; 8]>) -> [Milliamps; 8] {
        let mut currents = previous.copied().unwrap_or([Milliamps::ZERO; 8]);
        for current in &mut currents {
            *current = random.quantity(Some(*current), 0, 140);
        }
        currents
    }

    fn step(&mut self, input: &[Milliamps; 8]) -> TestPulseState {
        self.0.step(input)
    }
}
