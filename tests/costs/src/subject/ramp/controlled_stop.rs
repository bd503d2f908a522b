//! A command that follows its lever, and a stop that takes its time.

use trunnion::quantity::Ratio;
use trunnion::ramp::{ControlledStop, ControlledStopConfig, StopRequest};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// Full scale to zero in 200 ms.
pub struct Block(ControlledStop);

impl Subject for Block {
    const NAME: &'static str = "ramp/controlled_stop";
    type Input = (Ratio, StopRequest);
    type Output = Ratio;

    fn new() -> Self {
        Self(built!(ControlledStop::new(ControlledStopConfig { time: millis(200) }, TICK)))
    }

    /// A lever that is let go of now and then, for nothing resumes before.
    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let Some((command, stop)) = previous else { return (Ratio::ZERO, StopRequest::None) };
        let released = command.is_zero() && !random.once_in(6);
        let command = if released || random.once_in(40) { Ratio::ZERO } else { random.ratio(Some(*command)) };
        let stop = match (stop, random.once_in(30)) {
            (StopRequest::None, true) => StopRequest::Controlled,
            (StopRequest::Controlled, true) => StopRequest::None,
            (stop, false) => *stop,
        };
        (command, stop)
    }

    fn step(&mut self, input: &Self::Input) -> Ratio {
        self.0.step(input.0, input.1)
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.0.to_bits();
        into[1] = input.1 as i32;
        2
    }

    fn output_words(command: &Ratio, into: &mut Words) -> usize {
        into[0] = command.to_bits();
        1
    }
}
