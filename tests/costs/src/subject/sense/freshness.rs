//! Whether a value that comes in frames is still alive.

use trunnion::sense::{Freshness, FreshnessConfig, FreshnessState};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};

/// Lost after 50 ms, never seen after 500 ms.
pub struct Block(Freshness);

/// What happens on the bus in one period.
#[derive(Clone, Copy)]
pub struct Bus {
    frame: bool,
    /// The sender is there.
    sends: bool,
}

impl Subject for Block {
    const NAME: &'static str = "sense/freshness";
    type Input = Bus;
    type Output = FreshnessState;

    fn new() -> Self {
        Self(built!(Freshness::new(FreshnessConfig { time_out: millis(50), start_up: millis(500) }, TICK)))
    }

    /// A frame in about every second period while the sender is there.
    fn input(random: &mut Random, previous: Option<&Bus>) -> Bus {
        let sent = previous.map(|bus| bus.sends);
        let sends = random.level(sent, if sent == Some(true) { 300 } else { 60 });
        Bus { frame: sends && random.once_in(2), sends }
    }

    fn step(&mut self, bus: &Bus) -> FreshnessState {
        self.0.step(bus.frame)
    }

    fn input_words(bus: &Bus, into: &mut Words) -> usize {
        into[0] = bus.frame.into();
        1
    }

    fn output_words(state: &FreshnessState, into: &mut Words) -> usize {
        into[0] = *state as i32;
        1
    }
}
