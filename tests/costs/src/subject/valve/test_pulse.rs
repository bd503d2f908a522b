//! Looks for open and crossed coils at start-up.

use crate::subject::{TICK, millis, permille};
use trunnion::quantity::Milliamps;
use trunnion::valve::{TestPulse, TestPulseConfig, TestPulseState};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Eleven coils, 200 mA for 80 ms each, half of it passes. The test begins anew after each end.
pub struct Block(TestPulse<11>);

impl Subject for Block {
    const NAME: &'static str = "valve/test_pulse";
    type Input = [Milliamps; 11];
    type Output = TestPulseState;

    fn new() -> Self {
        Self(built!(TestPulse::new(
            TestPulseConfig { current: Milliamps::saturating(200), length: millis(80), pass: permille(500) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let _ = previous;
        let kind = random.below(12);
        let carried = |place: u32| {
            let noise = i64::from(random.below(60));
            let carries = place == kind || (kind == 11 && noise > 50);
            Milliamps::saturating(if carries { 150_i64.saturating_add(noise) } else { noise })
        };
        [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10].map(carried)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        if self.0.done() {
            self.0.reset();
        }
        self.0.step(input)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input[0].raw().into();
        into[1] = input[1].raw().into();
        into[2] = input[2].raw().into();
        into[3] = input[3].raw().into();
        into[4] = input[4].raw().into();
        into[5] = input[5].raw().into();
        into[6] = input[6].raw().into();
        into[7] = input[7].raw().into();
        into[8] = input[8].raw().into();
        into[9] = input[9].raw().into();
        into[10] = input[10].raw().into();
        11
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = *output as i32;
        1
    }
}
