//! One pump, and the brake in step with it.

use trunnion::propel::{SinglePath, SinglePathConfig, SinglePathInputs, SinglePathState};
use trunnion::quantity::Ratio;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::{TICK, millis};

/// The brake opens in 20 ms, closes after 1 s, at the latest 3 s after a stop.
pub struct Block(SinglePath);

impl Subject for Block {
    const NAME: &'static str = "propel/single_path";
    type Input = SinglePathInputs;
    type Output = (Ratio, SinglePathState);

    fn new() -> Self {
        Self(built!(SinglePath::new(
            SinglePathConfig {
                brake_opens_in: millis(20),
                apply_after: millis(1_000),
                stop_time_out: millis(3_000)
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&SinglePathInputs>) -> SinglePathInputs {
        SinglePathInputs {
            permitted: random.level(previous.map(|before| before.permitted), 80),
            charge_pressure_good: random.level(previous.map(|before| before.charge_pressure_good), 160),
            drive: random.ratio(previous.map(|before| before.drive)),
            standstill: random.level(previous.map(|before| before.standstill), 40),
        }
    }

    fn step(&mut self, input: &SinglePathInputs) -> (Ratio, SinglePathState) {
        (self.0.step(*input), self.0.state())
    }
}

impl Spelled for SinglePathInputs {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.permitted.spell(into, at);
        let at = self.charge_pressure_good.spell(into, at);
        let at = self.drive.spell(into, at);
        self.standstill.spell(into, at)
    }
}
