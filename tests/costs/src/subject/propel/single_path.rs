//! One pump, and the brake in step with it.

use crate::subject::{TICK, measured, millis};
use trunnion::propel::{SinglePath, SinglePathConfig, SinglePathInputs, SinglePathState};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};

/// The brake opens in 200 ms, comes on after 1 s at rest, a stop may take 3 s.
pub struct Block(SinglePath);

impl Subject for Block {
    const NAME: &'static str = "propel/single_path";
    type Input = SinglePathInputs;
    type Output = (Ratio, SinglePathState);

    fn new() -> Self {
        Self(built!(SinglePath::new(
            SinglePathConfig {
                brake_opens_in: millis(200),
                apply_after: millis(1000),
                stop_time_out: millis(3000),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input {
        let held = random.below(8) != 0;
        SinglePathInputs {
            permitted: measured::mostly(random, previous.map(|inputs| inputs.permitted), 400, 40),
            charge_pressure_good: measured::mostly(
                random,
                previous.map(|inputs| inputs.charge_pressure_good),
                1000,
                20,
            ),
            drive: match previous {
                Some(inputs) if held => inputs.drive,
                previous => random.ratio(previous.map(|inputs| inputs.drive)),
            },
            standstill: random.level(previous.map(|inputs| inputs.standstill), 400),
        }
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let command = self.0.step(*input);
        (command, self.0.state())
    }

    fn input_words(input: &Self::Input, into: &mut Words) -> usize {
        into[0] = input.permitted.into();
        into[1] = input.charge_pressure_good.into();
        into[2] = input.drive.to_bits();
        into[3] = input.standstill.into();
        4
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        into[0] = output.0.to_bits();
        into[1] = output.1 as i32;
        2
    }
}
