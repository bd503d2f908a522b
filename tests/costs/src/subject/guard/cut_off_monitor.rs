//! Whether the coil supply does what it is told.

use trunnion::guard::{CutOffMonitor, CutOffMonitorConfig};
use trunnion::quantity::Millivolts;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, measured, millis};

/// Off at 3 V, on at 6 V, 100 ms to differ.
pub struct Block(CutOffMonitor);

/// The command, and the voltage behind the cut-off.
type Supply = (bool, Millivolts);

impl Subject for Block {
    const NAME: &'static str = "guard/cut_off_monitor";
    type Input = Supply;
    type Output = bool;

    fn new() -> Self {
        Self(built!(CutOffMonitor::new(
            CutOffMonitorConfig {
                disagree_after: millis(100),
                low: Millivolts::saturating(3_000),
                high: Millivolts::saturating(6_000),
            },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Supply>) -> Supply {
        let on = random.level(previous.map(|before| before.0), 50);
        (on, measured::switched_supply(random, previous.map(|before| before.1)))
    }

    fn step(&mut self, (on, read_back): &Supply) -> bool {
        self.0.step(*on, *read_back)
    }

    fn input_words((on, read_back): &Supply, into: &mut Words) -> usize {
        into[0] = i32::from(*on);
        into[1] = read_back.raw().into();
        2
    }

    fn output_words(agrees: &bool, into: &mut Words) -> usize {
        into[0] = i32::from(*agrees);
        1
    }
}
