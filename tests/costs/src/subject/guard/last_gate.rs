//! Current may flow, and where it flows though it may not.

use trunnion::guard::{GateState, LastGate, LastGateConfig};
use trunnion::quantity::Milliamps;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, milliamps, millis};

/// 60 mA stray after 200 ms.
pub struct Block(LastGate);

impl Subject for Block {
    const NAME: &'static str = "guard/last_gate";
    type Input = (bool, Milliamps);
    type Output = GateState;

    fn new() -> Self {
        Self(built!(LastGate::new(LastGateConfig { decay: millis(200), stray: milliamps(60) }, TICK)))
    }

    fn input(random: &mut Random, previous: Option<&(bool, Milliamps)>) -> (bool, Milliamps) {
        let open = random.level(previous.map(|before| before.0), 60);
        let largest = if open || random.once_in(16) { 1_500 } else { 80 };
        (open, random.quantity(previous.map(|before| before.1), 0, largest))
    }

    fn step(&mut self, input: &(bool, Milliamps)) -> GateState {
        self.0.step(input.0, input.1)
    }
}
