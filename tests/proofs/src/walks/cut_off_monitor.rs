//! Whether the coil supply does what it is told.

use trunnion::guard::{CutOffMonitor, CutOffMonitorConfig};
use trunnion::quantity::Millivolts;

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Requirement, Run, Walked, always, family, planted, sometimes};

const LOW: u16 = 2_000;
const HIGH: u16 = 9_000;

#[derive(Debug, Clone, Copy)]
struct Rules {
    disagree: u32,
}

fn differs((on, raw): (bool, u16)) -> bool {
    if on { raw < HIGH } else { raw > LOW }
}

impl Walked for Rules {
    type Block = CutOffMonitor;
    type Input = (bool, u16);
    type Output = bool;
    /// For how long command and read-back differed.
    type Memory = Run;

    fn block(&self) -> CutOffMonitor {
        let [low, high] = [LOW, HIGH].map(|raw| Millivolts::saturating(raw.into()));
        let config = CutOffMonitorConfig { disagree_after: ticks(self.disagree), low, high };
        CutOffMonitor::new(config, TICK).expect("rules in range")
    }

    fn inputs(&self) -> Vec<(bool, u16)> {
        let levels = [0, LOW, LOW + 1, HIGH - 1, HIGH, u16::MAX];
        levels.into_iter().flat_map(|raw| [(false, raw), (true, raw)]).collect()
    }

    fn step(block: &mut CutOffMonitor, (on, raw): (bool, u16)) -> bool {
        block.step(on, Millivolts::saturating(raw.into()))
    }

    fn remember(&self, memory: &mut Run, input: (bool, u16), _: bool) {
        memory.note(differs(input));
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            // A difference that was seen in n steps has lasted for n − 1 periods at least.
            always("it disagrees exactly after a difference of more periods than the time", |now| {
                now.output == (now.after.steps() < now.rules.disagree + 2)
            }),
            always("the first step without a difference agrees", |now| differs(now.input) || now.output),
            sometimes("it disagrees", |now| !now.output),
            planted("it disagrees one step earlier", |now| {
                now.output == (now.after.steps() < now.rules.disagree + 1)
            }),
        ]
    }
}

pub(super) fn proof() -> Proof {
    entry::<Rules>("cut_off_monitor", "guard/cut_off_monitor", "disagreement of 1 to 4 steps", |bench| {
        family(bench, "cut_off_monitor", &[1, 2, 3, 4].map(|disagree| Rules { disagree }))
    })
}
