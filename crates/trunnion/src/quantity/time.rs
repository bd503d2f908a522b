//! The loop period, and times counted in it.

/// A duration in milliseconds, as parameters give it.
pub type Millis = fugit::MillisDurationU32;

/// The fixed period of a loop, 100 µs to 1 s: a construction argument of every time-dependent block.
///
/// ```
/// use trunnion::quantity::{Millis, Period};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// assert_eq!(TICK.steps(Millis::millis(300)), 30);
/// assert_eq!(TICK.steps(Millis::millis(301)), 31); // a wait is never shorter than asked
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Period {
    micros: u32,
}

impl Period {
    /// Shortest period in microseconds.
    pub const MIN_MICROS: u32 = 100;
    /// Longest period in microseconds.
    pub const MAX_MICROS: u32 = 1_000_000;

    /// From microseconds; `None` outside 100 µs to 1 s.
    pub const fn from_micros(micros: u32) -> Option<Self> {
        if micros >= Self::MIN_MICROS && micros <= Self::MAX_MICROS { Some(Self { micros }) } else { None }
    }

    /// In microseconds.
    pub const fn micros(self) -> u32 {
        self.micros
    }

    /// Number of periods that last at least `duration`, rounded up.
    pub const fn steps(self, duration: Millis) -> u32 {
        let micros = (duration.ticks() as u64).wrapping_mul(1000);
        let rounded_up = micros.wrapping_add((self.micros as u64).saturating_sub(1));
        match rounded_up.checked_div(self.micros as u64) {
            Some(steps) if steps <= u32::MAX as u64 => steps as u32,
            Some(_) => u32::MAX,
            None => 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_period_outside_its_range_is_refused() {
        assert_eq!(Period::from_micros(99), None);
        assert_eq!(Period::from_micros(1_000_001), None);
    }

    #[test]
    fn waits_round_up_and_never_overflow() {
        let period = Period::from_micros(100).unwrap();
        assert_eq!(period.steps(Millis::millis(0)), 0);
        assert_eq!(period.steps(Millis::millis(1)), 10);
        assert_eq!(period.steps(Millis::millis(u32::MAX)), u32::MAX);
    }
}
