//! Everything to zero in the same step, and nothing back by itself.

use trunnion::guard::{ImmediateStop, ImmediateStopConfig, StopState};
use trunnion::sense::Reading;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis, reading_words};

/// Presses of 50 ms to 1 s.
pub struct Block(ImmediateStop);

/// The cause, and the reset button.
type Switches = (Reading<bool>, Reading<bool>);

impl Subject for Block {
    const NAME: &'static str = "guard/immediate_stop";
    type Input = Switches;
    type Output = StopState;

    fn new() -> Self {
        Self(built!(ImmediateStop::new(
            ImmediateStopConfig { shortest_press: millis(50), longest_press: millis(1_000) },
            TICK
        )))
    }

    /// A cause comes seldom and goes soon; the button is pressed for different times.
    fn input(random: &mut Random, previous: Option<&Switches>) -> Switches {
        let cause = measured::reading(random, previous.map(|switches| switches.0), |random, cause| {
            random.level(cause.or(Some(false)), if cause == Some(true) { 15 } else { 300 })
        });
        let button = measured::reading(random, previous.map(|switches| switches.1), |random, pressed| {
            let turns_in = if random.once_in(2) { 12 } else { 60 };
            random.level(pressed.or(Some(false)), turns_in)
        });
        (cause, button)
    }

    fn step(&mut self, (cause, button): &Switches) -> StopState {
        self.0.step(*cause, *button)
    }

    fn input_words((cause, button): &Switches, into: &mut Words) -> usize {
        let next = reading_words::put(*cause, i32::from, into, 0);
        reading_words::put(*button, i32::from, into, next)
    }

    fn output_words(state: &StopState, into: &mut Words) -> usize {
        into[0] = *state as i32;
        1
    }
}
