//! The loop period, and times counted in it.

use super::Ratio;

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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
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
    #[must_use]
    pub const fn micros(self) -> u32 {
        self.micros
    }

    /// Number of periods that last at least `duration`, rounded up.
    #[must_use]
    pub const fn steps(self, duration: Millis) -> u32 {
        let micros = (duration.ticks() as u64).wrapping_mul(1000);
        let rounded_up = micros.wrapping_add((self.micros as u64).saturating_sub(1));
        match rounded_up.checked_div(self.micros as u64) {
            Some(steps) if steps <= u32::MAX as u64 => steps as u32,
            Some(_) => u32::MAX,
            None => 0,
        }
    }

    /// Share of a whole that passes in one period when the whole takes `time`: rounded up, so that nothing arrives late,
    /// and at most all of it.
    pub(crate) const fn share_of(self, time: Millis) -> Ratio {
        let micros = (time.ticks() as i64).wrapping_mul(1_000);
        // At most 2³⁰ · 10⁶.
        let bits = (Ratio::ONE_BITS as i64).wrapping_mul(self.micros as i64);
        match bits.saturating_add(micros.saturating_sub(1)).checked_div(micros) {
            Some(bits) => Ratio::saturating(bits),
            None => Ratio::ONE,
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
    fn a_share_of_a_whole_is_rounded_up_and_never_more_than_the_whole() {
        let period = Period::from_micros(10_000).unwrap();
        assert_eq!(period.share_of(Millis::millis(20)).to_permille().raw(), 500);
        assert_eq!(period.share_of(Millis::millis(30)).to_bits(), Ratio::ONE_BITS / 3 + 1);
        assert_eq!(period.share_of(Millis::millis(9)), Ratio::ONE);
        assert_eq!(period.share_of(Millis::millis(0)), Ratio::ONE);
    }

    #[test]
    fn waits_round_up_and_never_overflow() {
        let period = Period::from_micros(100).unwrap();
        assert_eq!(period.steps(Millis::millis(0)), 0);
        assert_eq!(period.steps(Millis::millis(1)), 10);
        assert_eq!(period.steps(Millis::millis(u32::MAX)), u32::MAX);
    }
}
