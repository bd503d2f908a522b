//! The gate after the valve room.

use trunnion::guard::{GateState, LastGate, LastGateConfig};
use trunnion::quantity::Milliamps;

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

const STRAY: u16 = 40;

#[derive(Debug, Clone, Copy)]
struct Rules {
    decay: u32,
}

impl Walked for Rules {
    type Block = LastGate;
    /// Whether it is to be open, and the largest measured current.
    type Input = (bool, u16);
    type Output = GateState;
    /// For how long it was closed.
    type Memory = Run;

    fn block(&self) -> LastGate {
        let config = LastGateConfig { decay: ticks(self.decay), stray: Milliamps::saturating(STRAY.into()) };
        LastGate::new(config, TICK).expect("rules in range")
    }

    fn inputs(&self) -> Vec<(bool, u16)> {
        let currents = [0, STRAY, STRAY + 1, u16::MAX];
        currents.into_iter().flat_map(|current| [(false, current), (true, current)]).collect()
    }

    fn step(block: &mut LastGate, (open, current): (bool, u16)) -> GateState {
        block.step(open, Milliamps::saturating(current.into()))
    }

    fn remember(&self, memory: &mut Run, (open, _): (bool, u16), _: GateState) {
        memory.note(!open);
    }

    fn requirements() -> Vec<Requirement<Self>> {
        use GateState::{Closed, Disagrees, Open};
        vec![
            always("it is open exactly while it is to be", |now| (now.output == Open) == now.input.0),
            // Closed in n steps it was closed for n − 1 periods at least.
            always("closed for more periods than the time to decay, current disagrees", |now| {
                let decayed = now.after.steps() >= now.rules.decay + 2;
                (now.output == Disagrees) == (decayed && now.input.1 > STRAY)
            }),
            always("it goes with the current", |now| {
                now.input.0 || now.input.1 > STRAY || now.output == Closed
            }),
            sometimes("current flows though it is closed", |now| now.output == Disagrees),
            planted("the stray current itself disagrees", |now| {
                now.after.steps() < now.rules.decay + 2 || now.input.1 < STRAY || now.output == Disagrees
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("last_gate", "guard/last_gate", "1 to 4 steps to decay", |bench| {
        family(bench, "last_gate", &[1, 2, 3, 4].map(|decay| Rules { decay }))
    })
}
