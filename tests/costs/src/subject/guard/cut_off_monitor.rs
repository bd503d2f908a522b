//! The supply of the coils is as commanded.

use trunnion::guard::{CutOffMonitor, CutOffMonitorConfig};
use trunnion::quantity::Millivolts;

use crate::random::Random;
use crate::scale::Subject;
use crate::subject::{TICK, millis, millivolts};

/// Off below 2 V, on above 9 V, after 100 ms.
pub struct Block(CutOffMonitor);

impl Subject for Block {
    const NAME: &'static str = "guard/cut_off_monitor";
    type Input = (bool, Millivolts);
    type Output = bool;

    fn new() -> Self {
        Self(built!(CutOffMonitor::new(
            CutOffMonitorConfig {
                disagree_after: millis(100),
                low: millivolts(2_000),
                high: millivolts(9_000)
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&(bool, Millivolts)>) -> (bool, Millivolts) {
        let on = random.level(previous.map(|before| before.0), 60);
        // A relay that sticks does so for a while.
        let stuck = random.level(previous.map(|before| before.0 != (before.1.raw() > 5_000)), 24);
        let high = on != stuck;
        (on, if high { random.quantity(None, 8_500, 14_000) } else { random.quantity(None, 0, 2_500) })
    }

    fn step(&mut self, input: &(bool, Millivolts)) -> bool {
        self.0.step(input.0, input.1)
    }
}
