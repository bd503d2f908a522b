//! Frequency, period and speed of a toothed wheel: one turned into another.

use super::rounding::scale_symmetric;
use super::{Hertz, Rpm, SignalPeriod};

/// Frequency in thousandths of a hertz times period in tenths of a microsecond.
const CYCLE: i64 = 10_000_000_000;

/// Eighths of a revolution a minute in thousandths of a hertz of a wheel with one tooth: 60 s · 8 / 1000 = 12/25.
const EIGHTHS: i64 = 12;
const MILLIHERTZ: i64 = 25;

impl Hertz {
    /// From whole hertz, held in range.
    pub const fn from_whole(hertz: u32) -> Self {
        Self::saturating((hertz as i64).wrapping_mul(1_000))
    }

    /// The time of one cycle, T = 1/f, rounded to nearest with ties away from zero; `None` at 0 Hz and below 0.01 Hz,
    /// where it is longer than 100 s.
    ///
    /// ```
    /// use trunnion::quantity::{Hertz, SignalPeriod};
    /// assert_eq!(Hertz::from_whole(2_400).period(), SignalPeriod::new(4_167)); // 416.7 µs
    /// assert_eq!(Hertz::ZERO.period(), None);
    /// ```
    #[must_use]
    pub const fn period(self) -> Option<SignalPeriod> {
        match reciprocal(self.raw(), SignalPeriod::MAX.raw()) {
            Some(raw) => SignalPeriod::new(raw),
            None => None,
        }
    }

    /// The pulses of a wheel with so many teeth, f = n · z / 60, whichever way it turns; rounded to nearest with ties
    /// away from zero and held in range.
    ///
    /// ```
    /// use trunnion::quantity::{Hertz, Rpm};
    /// assert_eq!(Hertz::of_wheel(Rpm::from_whole(1_200), 120), Hertz::from_whole(2_400));
    /// ```
    pub const fn of_wheel(speed: Rpm, teeth: u16) -> Self {
        let eighths = (speed.magnitude().raw() as i64).wrapping_mul(teeth as i64);
        Self::saturating(scale_symmetric(eighths, MILLIHERTZ, EIGHTHS))
    }
}

impl SignalPeriod {
    /// From whole microseconds, held in range.
    pub const fn from_micros(micros: u32) -> Self {
        Self::saturating((micros as i64).wrapping_mul(10))
    }

    /// How often it repeats, f = 1/T, rounded to nearest with ties away from zero; `None` for a period of zero and below
    /// 1 µs, where it is above 1 MHz.
    ///
    /// ```
    /// use trunnion::quantity::{Hertz, SignalPeriod};
    /// assert_eq!(SignalPeriod::from_micros(5_000).frequency(), Some(Hertz::from_whole(200)));
    /// ```
    #[must_use]
    pub const fn frequency(self) -> Option<Hertz> {
        match reciprocal(self.raw(), Hertz::MAX.raw()) {
            Some(raw) => Hertz::new(raw),
            None => None,
        }
    }
}

impl Rpm {
    /// The speed of a wheel with so many teeth from its pulses, n = 60 · f / z, rounded to nearest with ties away from
    /// zero and held in range; `None` without a tooth.
    ///
    /// ```
    /// use trunnion::quantity::{Hertz, Rpm};
    /// // A textbook's example: 120 teeth at 2400 Hz.
    /// assert_eq!(Rpm::of_wheel(Hertz::from_whole(2_400), 120), Some(Rpm::from_whole(1_200)));
    /// ```
    pub const fn of_wheel(pulses: Hertz, teeth: u16) -> Option<Self> {
        if teeth == 0 {
            return None;
        }
        let denominator = MILLIHERTZ.wrapping_mul(teeth as i64);
        Some(Self::saturating(scale_symmetric(pulses.raw() as i64, EIGHTHS, denominator)))
    }
}

/// One of a cycle's pair from the other; `None` for zero and above `most`.
const fn reciprocal(raw: u32, most: u32) -> Option<u32> {
    let quotient = scale_symmetric(CYCLE, 1, raw as i64);
    if quotient <= 0 || quotient > most as i64 { None } else { Some(quotient as u32) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_has_no_frequency_or_no_period_in_range_gives_none() {
        assert_eq!(Hertz::new(9).unwrap().period(), None, "111 s");
        assert_eq!(Hertz::new(10).unwrap().period(), Some(SignalPeriod::from_micros(100_000_000)));
        assert_eq!(SignalPeriod::ZERO.frequency(), None);
        assert_eq!(SignalPeriod::new(9).unwrap().frequency(), None, "1.1 MHz");
        assert_eq!(SignalPeriod::new(10).unwrap().frequency(), Some(Hertz::MAX));
        assert_eq!(Rpm::of_wheel(Hertz::MAX, 0), None);
    }

    #[test]
    fn the_ends_of_the_range_hold() {
        assert_eq!(Hertz::from_whole(u32::MAX), Hertz::MAX);
        assert_eq!(SignalPeriod::from_micros(u32::MAX), SignalPeriod::MAX);
        assert_eq!(Hertz::of_wheel(Rpm::MIN, u16::MAX), Hertz::MAX);
        assert_eq!(Rpm::of_wheel(Hertz::MAX, 1), Some(Rpm::MAX));
    }

    proptest! {
        #[test]
        fn a_period_is_the_nearest_to_the_exact_reciprocal_and_so_is_a_frequency(raw in 10_u32..=1_000_000_000) {
            for reciprocal in [
                Hertz::new(raw).unwrap().period().map(SignalPeriod::raw),
                SignalPeriod::new(raw).unwrap().frequency().map(Hertz::raw),
            ] {
                let error = i64::from(reciprocal.unwrap()) * i64::from(raw) - CYCLE;
                prop_assert!(2 * error.abs() <= i64::from(raw));
            }
        }

        #[test]
        fn a_wheel_gives_back_the_speed_that_made_its_pulses(rpm in 0..=24_000_i32, teeth in 1_u16..=500) {
            let speed = Rpm::new(rpm).unwrap();
            let pulses = Hertz::of_wheel(speed, teeth);
            let exact = i64::from(rpm) * i64::from(teeth) * MILLIHERTZ;
            prop_assert!((i64::from(pulses.raw()) * EIGHTHS - exact).abs() * 2 <= EIGHTHS);
            prop_assert_eq!(Rpm::of_wheel(pulses, teeth), Some(speed));
            prop_assert_eq!(Hertz::of_wheel(Rpm::ZERO.minus(speed), teeth), pulses);
        }
    }
}
