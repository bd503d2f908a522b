//! The gate after the valve room.

use trunnion::guard::{GateState, LastGate, LastGateConfig};
use trunnion::quantity::Milliamps;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis};

/// Currents decay in 50 ms to 150 mA.
pub struct Block(LastGate);

/// Whether it shall be open, and the largest current.
type Gate = (bool, Milliamps);

impl Subject for Block {
    const NAME: &'static str = "guard/last_gate";
    type Input = Gate;
    type Output = GateState;

    fn new() -> Self {
        Self(built!(LastGate::new(
            LastGateConfig { decay: millis(50), stray: Milliamps::saturating(150) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Gate>) -> Gate {
        let open = random.level(previous.map(|gate| gate.0), 30);
        (open, measured::current(random, previous.map(|gate| gate.1)))
    }

    fn step(&mut self, (open, measured): &Gate) -> GateState {
        self.0.step(*open, *measured)
    }

    fn input_words((open, measured): &Gate, into: &mut Words) -> usize {
        into[0] = i32::from(*open);
        into[1] = measured.raw().into();
        2
    }

    fn output_words(state: &GateState, into: &mut Words) -> usize {
        into[0] = *state as i32;
        1
    }
}
