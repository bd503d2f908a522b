//! When the next service is due.

use trunnion::timing::{Seconds, ServiceInterval, ServiceIntervalConfig, ServiceState};

use crate::random::Random;
use crate::scale::{Subject, Words};

/// Every 500 hours, told 50 hours before, last done at 4000.
pub struct Block(ServiceInterval);

const HOUR: u32 = 3_600;

impl Subject for Block {
    const NAME: &'static str = "timing/service_interval";
    type Input = Seconds;
    /// The state, and what remains.
    type Output = (ServiceState, Seconds);

    fn new() -> Self {
        Self(built!(ServiceInterval::new(
            ServiceIntervalConfig {
                interval: Seconds::from_ticks(500 * HOUR),
                told_before: Seconds::from_ticks(50 * HOUR),
            },
            Seconds::from_ticks(4_000 * HOUR)
        )))
    }

    /// A meter between 3990 and 4510 hours, seldom any.
    fn input(random: &mut Random, previous: Option<&Seconds>) -> Seconds {
        let (low, high) = (3_990 * HOUR, 4_510 * HOUR);
        if random.once_in(300) {
            return Seconds::from_ticks(random.bits());
        }
        let before = previous.map(|total| total.ticks().max(low).min(high).cast_signed());
        let total = random.moved(before, low.cast_signed(), high.cast_signed());
        Seconds::from_ticks(total.cast_unsigned())
    }

    fn step(&mut self, total: &Seconds) -> Self::Output {
        (self.0.step(*total), self.0.remaining(*total))
    }

    fn input_words(total: &Seconds, into: &mut Words) -> usize {
        into[0] = total.ticks().cast_signed();
        1
    }

    fn output_words((state, remaining): &Self::Output, into: &mut Words) -> usize {
        into[0] = *state as i32;
        into[1] = remaining.ticks().cast_signed();
        2
    }
}
