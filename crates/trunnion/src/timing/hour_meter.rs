//! How long something ran over the life of a machine.

use crate::quantity::Period;

/// A duration in whole seconds: 32 bits hold 136 years.
pub type Seconds = fugit::SecsDurationU32;

const MICROS_PER_SECOND: u32 = 1_000_000;

/// Counts the time for which a level is true: engine hours, pump hours, hours of a service interval.
///
/// Counts in periods and loses none of them; gives the whole seconds that have passed, rounded down, and stays at its end after
/// 136 years. The total is stored by the machine and handed in again at the next start; what had run of a
/// second when the power went is lost. [`reset`](Self::reset) is for a service interval that was done.
///
#[doc = include_str!("../../docs/timing-hour_meter.svg")]
///
/// ```
/// use trunnion::quantity::Period;
/// use trunnion::timing::{HourMeter, Seconds};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let mut engine_hours = HourMeter::new(Seconds::from_ticks(3_599), tick); // as it was stored
/// for _ in 0..100 {
///     engine_hours.step(true);
/// }
/// assert_eq!(engine_hours.total(), Seconds::from_ticks(3_600));
/// assert_eq!(engine_hours.tenths_of_an_hour(), 10);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct HourMeter {
    period: Period,
    total: Seconds,
    /// Of the second that is running.
    micros: u32,
}

impl HourMeter {
    /// Goes on from a stored total.
    pub const fn new(stored: Seconds, period: Period) -> Self {
        Self { period, total: stored, micros: 0 }
    }

    /// From zero again.
    pub fn reset(&mut self) {
        self.total = Seconds::from_ticks(0);
        self.micros = 0;
    }

    /// One step; true when a new second is full, so that the total can be stored now and then.
    pub fn step(&mut self, running: bool) -> bool {
        if !running {
            return false;
        }
        // Below one second, and a period is at most one more.
        self.micros = self.micros.saturating_add(self.period.micros());
        if self.micros < MICROS_PER_SECOND {
            return false;
        }
        self.micros = self.micros.saturating_sub(MICROS_PER_SECOND);
        self.total = Seconds::from_ticks(self.total.ticks().saturating_add(1));
        true
    }

    /// Whole seconds in which the level was true.
    pub const fn total(&self) -> Seconds {
        self.total
    }

    /// The same as a meter shows it: in tenths of an hour, rounded down.
    pub const fn tenths_of_an_hour(&self) -> u32 {
        self.total.ticks() / 360
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_meter_at_its_end_stays_there_and_a_reset_starts_again() {
        let second = Period::from_micros(1_000_000).unwrap();
        let mut meter = HourMeter::new(Seconds::from_ticks(u32::MAX), second);
        assert!(meter.step(true));
        assert_eq!(meter.total().ticks(), u32::MAX);
        meter.reset();
        meter.step(true);
        assert_eq!(meter.total().ticks(), 1);
    }

    proptest! {
        #[test]
        fn the_total_is_the_exact_time_rounded_down_and_each_second_is_told_once(
            micros in Period::MIN_MICROS..=Period::MAX_MICROS, stored in 0..1_000_000_u32,
            levels in proptest::collection::vec((any::<bool>(), 0..2_000_u32), 0..10)
        ) {
            let mut meter = HourMeter::new(Seconds::from_ticks(stored), Period::from_micros(micros).unwrap());
            let (mut exact, mut told) = (0_u64, 0);
            for (running, steps) in levels {
                for _ in 0..steps {
                    told += u32::from(meter.step(running));
                    exact += u64::from(running) * u64::from(micros);
                }
            }
            let seconds = stored + u32::try_from(exact / 1_000_000).unwrap();
            prop_assert_eq!(meter.total().ticks(), seconds);
            prop_assert_eq!(told, seconds - stored);
            prop_assert_eq!(meter.tenths_of_an_hour(), seconds / 360);
        }
    }
}
