//! Dither: a small alternating current that keeps the spool from sticking.

use core::fmt;

use crate::quantity::{Hertz, Milliamps, Millis, Period, SignalPeriod};

/// How a coil is dithered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct DitherConfig {
    /// Height above and below the set-point, 0 (no dither) to 500 mA.
    pub amplitude: Milliamps,
    /// Length of one up-and-down, a whole and even number of loop periods up to 100 ms.
    pub cycle: Millis,
}

impl DitherConfig {
    /// The dither whose frequency is the nearest that a loop of this period can make, by the length of its cycle; of
    /// two that are equally near, the slower. At 0 Hz, and where a cycle in range cannot be made, the cycle is
    /// zero or too long, and [`Dither::new`] refuses it.
    ///
    /// ```
    /// use trunnion::quantity::{Hertz, Milliamps, Millis, Period};
    /// use trunnion::valve::DitherConfig;
    ///
    /// let current_loop = Period::from_micros(1_000).unwrap();
    /// let spool = DitherConfig::at(Hertz::from_whole(120), Milliamps::new(40).unwrap(), current_loop);
    /// assert_eq!(spool.cycle, Millis::millis(8)); // 125 Hz: 8.3 ms is not an even number of milliseconds
    /// ```
    pub const fn at(frequency: Hertz, amplitude: Milliamps, period: Period) -> Self {
        let unit = shortest_cycle_micros(period);
        let wanted = match frequency.period() {
            Some(cycle) => (cycle.raw() as u64) / 10,
            None => 0,
        };
        let units = match wanted.saturating_add(unit / 2).checked_div(unit) {
            Some(0) if wanted > 0 => 1,
            Some(units) => units,
            None => 0,
        };
        let millis = units.saturating_mul(unit) / 1_000;
        let cycle = if millis > u32::MAX as u64 { u32::MAX } else { millis as u32 };
        Self { amplitude, cycle: Millis::from_ticks(cycle) }
    }
}

/// Every cycle is a multiple of this: an even number of loop periods and a whole number of milliseconds.
const fn shortest_cycle_micros(period: Period) -> u64 {
    let (two_periods, millisecond) = ((period.micros() as u64).saturating_mul(2), 1_000);
    let (mut common, mut rest) = (two_periods, millisecond);
    // Euclid; two numbers below 2²¹ share their divisor after at most 31 divisions (Lamé).
    let mut division = 0_u8;
    while division < 31 && rest != 0 {
        (common, rest) = match common.checked_rem(rest) {
            Some(remainder) => (rest, remainder),
            None => (common, 0),
        };
        division = division.saturating_add(1);
    }
    match two_periods.checked_div(common) {
        Some(factor) => factor.saturating_mul(millisecond),
        None => 0,
    }
}

/// Why a [`DitherConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum DitherConfigError {
    /// The amplitude is above 500 mA.
    Amplitude(Milliamps),
    /// The cycle is zero, above 100 ms or not an even number of loop periods.
    Cycle {
        /// Refused cycle.
        given: Millis,
        /// Period of the loop.
        period: Period,
    },
}

impl fmt::Display for DitherConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Amplitude(given) => write!(f, "dither amplitude {} mA is above 500 mA", given.raw()),
            Self::Cycle { given, period } => write!(
                f,
                "dither cycle {given} is not an even number of loop periods of {} µs up to 100 ms",
                period.micros()
            ),
        }
    }
}

impl core::error::Error for DitherConfigError {}

/// Adds a square wave to a set-point.
///
/// Half of the cycle above, half below by the same amount, so that the mean over a cycle is the set-point.
/// Where the set-point is smaller than the amplitude the wave is made smaller; at zero there is none and the
/// wave starts anew. Usual values: 50 to 200 Hz, 3 to 10 % of full scale (public application notes).
///
#[doc = include_str!("../../docs/valve-dither.svg")]
///
/// ```
/// use trunnion::quantity::{Milliamps, Millis, Period};
/// use trunnion::valve::{Dither, DitherConfig};
///
/// let config = DitherConfig { amplitude: Milliamps::new(30).unwrap(), cycle: Millis::millis(4) };
/// let mut dither = Dither::new(config, Period::from_micros(1_000).unwrap())?;
/// let set = Milliamps::new(400).unwrap();
/// let wave = [(); 6].map(|()| dither.step(set).raw());
/// assert_eq!(wave, [430, 430, 370, 370, 430, 430]);
/// assert_eq!(dither.step(Milliamps::ZERO), Milliamps::ZERO);
/// # Ok::<(), trunnion::valve::DitherConfigError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Dither {
    amplitude: Milliamps,
    half: u32,
    period: Period,
    phase: u32,
}

impl Dither {
    const LARGEST: u16 = 500;
    const LONGEST: u32 = 100;

    /// Checks the config and resolves it to one period.
    ///
    /// # Errors
    ///
    /// [`DitherConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: DitherConfig, period: Period) -> Result<Self, DitherConfigError> {
        if config.amplitude.raw() > Self::LARGEST {
            return Err(DitherConfigError::Amplitude(config.amplitude));
        }
        let steps = period.steps(config.cycle);
        let whole = (steps as u64).wrapping_mul(period.micros() as u64)
            == (config.cycle.ticks() as u64).wrapping_mul(1000);
        if steps == 0 || config.cycle.ticks() > Self::LONGEST || !whole || !steps.is_multiple_of(2) {
            return Err(DitherConfigError::Cycle { given: config.cycle, period });
        }
        Ok(Self { amplitude: config.amplitude, half: steps / 2, period, phase: 0 })
    }

    /// Takes another config from where the wave is, or refuses it and keeps the present one.
    ///
    /// # Errors
    ///
    /// [`DitherConfigError`], as for `new`; everything then stays as it was.
    pub const fn reconfigure(&mut self, config: DitherConfig) -> Result<(), DitherConfigError> {
        match Self::new(config, self.period) {
            Ok(mut dither) => {
                if self.phase < dither.half.saturating_mul(2) {
                    dither.phase = self.phase;
                }
                *self = dither;
                Ok(())
            }
            Err(error) => Err(error),
        }
    }

    /// Starts the wave anew.
    pub const fn reset(&mut self) {
        self.phase = 0;
    }

    /// How often the wave repeats, rounded to nearest.
    pub const fn frequency(&self) -> Hertz {
        let micros = (self.half as u64).saturating_mul(2).saturating_mul(self.period.micros() as u64);
        // A checked cycle is at most 100 ms.
        match SignalPeriod::from_micros(micros as u32).frequency() {
            Some(frequency) => frequency,
            None => Hertz::ZERO,
        }
    }

    /// The set-point for this step.
    pub const fn step(&mut self, set: Milliamps) -> Milliamps {
        if set.raw() == 0 {
            self.reset();
            return set;
        }
        let height = self.amplitude.at_most(set);
        let dithered = if self.phase < self.half { set.plus(height) } else { set.minus(height) };
        self.phase = self.phase.saturating_add(1);
        if self.phase >= self.half.saturating_mul(2) {
            self.phase = 0;
        }
        dithered
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const STEP: Period = Period::from_micros(1_000).unwrap();

    fn dither(amplitude: u16, cycle: u32) -> Dither {
        let config =
            DitherConfig { amplitude: Milliamps::new(amplitude).unwrap(), cycle: Millis::from_ticks(cycle) };
        Dither::new(config, STEP).unwrap()
    }

    proptest! {
        #[test]
        fn the_mean_over_any_cycle_is_the_set_point(
            amplitude in 0u16..=500, half in 1u32..=50, set in 1u16..5_000, phase in 0usize..100
        ) {
            let mut dither = dither(amplitude, half * 2);
            let set = Milliamps::new(set).unwrap();
            for _ in 0..phase {
                dither.step(set);
            }
            let sum: u32 = (0..half * 2).map(|_| u32::from(dither.step(set).raw())).sum();
            prop_assert_eq!(sum, half * 2 * u32::from(set.raw()));
        }

        #[test]
        fn the_nearest_cycle_that_the_loop_can_make_is_taken(micros in 100_u32..=2_000, hertz in 20_u32..=500) {
            let period = Period::from_micros(micros).unwrap();
            let can_make = |cycle: u32| {
                Dither::new(DitherConfig { amplitude: Milliamps::ZERO, cycle: Millis::from_ticks(cycle) }, period).is_ok()
            };
            let off = |cycle: u32| (i64::from(cycle) * 1_000 - i64::from(1_000_000 / hertz)).abs();
            let config = DitherConfig::at(Hertz::from_whole(hertz), Milliamps::ZERO, period);
            let cycle = config.cycle.ticks();
            let nearest = (1..=100).filter(|cycle| can_make(*cycle)).min_by_key(|cycle| off(*cycle));
            match nearest {
                Some(nearest) if can_make(cycle) => prop_assert_eq!(off(nearest), off(cycle)),
                Some(nearest) => prop_assert!(off(cycle) < off(nearest), "{} is nearer than {}", cycle, nearest),
                None => prop_assert!(!can_make(cycle)),
            }
            if let Ok(dither) = Dither::new(config, period) {
                let micros = i64::from(cycle) * 1_000;
                let error = i64::from(dither.frequency().raw()) * micros - 1_000_000_000;
                prop_assert!(2 * error.abs() <= micros, "{} mHz", dither.frequency().raw());
            }
        }

        #[test]
        fn no_current_is_never_dithered(sets in proptest::collection::vec(0u16..3, 1..100)) {
            let mut dither = dither(40, 8);
            for set in sets.into_iter().filter_map(Milliamps::new) {
                let dithered = dither.step(set);
                prop_assert!(dithered.raw() <= set.raw() * 2);
            }
        }
    }

    #[test]
    fn a_frequency_gives_a_cycle_that_the_loop_can_make_and_between_two_the_slower() {
        let cycle = |hertz, micros| {
            let period = Period::from_micros(micros).unwrap();
            DitherConfig::at(Hertz::from_whole(hertz), Milliamps::ZERO, period).cycle.ticks()
        };
        assert_eq!([120, 200, 201, 2_000].map(|hertz| cycle(hertz, 1_000)), [8, 6, 4, 2]);
        assert_eq!([100, 2_000].map(|hertz| cycle(hertz, 1_500)), [9, 3], "multiples of 3 ms");
    }

    #[test]
    fn a_wave_goes_on_where_it_is_or_anew_where_the_new_one_is_over() {
        let set = Milliamps::new(400).unwrap();
        let shorter = DitherConfig { amplitude: Milliamps::new(30).unwrap(), cycle: Millis::millis(8) };
        for (steps, wave) in [(3, [430, 370, 370]), (7, [370, 430, 430]), (8, [430, 430, 430])] {
            let mut dither = dither(30, 10);
            for _ in 0..steps {
                dither.step(set);
            }
            dither.reconfigure(shorter).unwrap();
            assert_eq!([(); 3].map(|()| dither.step(set).raw()), wave, "after {steps} steps");
        }
    }

    #[test]
    fn a_cycle_that_the_loop_cannot_halve_is_refused() {
        let amplitude = Milliamps::new(20).unwrap();
        assert_eq!(DitherConfig::at(Hertz::ZERO, amplitude, STEP).cycle.ticks(), 0);
        for cycle in [0, 5, 102] {
            let config = DitherConfig { amplitude, cycle: Millis::from_ticks(cycle) };
            assert_eq!(
                Dither::new(config, STEP).unwrap_err(),
                DitherConfigError::Cycle { given: config.cycle, period: STEP }
            );
        }
        let config = DitherConfig { amplitude: Milliamps::new(501).unwrap(), cycle: Millis::from_ticks(4) };
        let error = dither(1, 2).reconfigure(config).unwrap_err();
        assert!(std::format!("{error}").contains("501 mA is above 500 mA"));
    }

    four_verbs! {
        new: |config| Dither::new(config, STEP),
        configs: (DitherConfig { amplitude: Milliamps::new(50).unwrap(), cycle: Millis::millis(10) }, DitherConfig { amplitude: Milliamps::new(80).unwrap(), cycle: Millis::millis(16) }),
        accepted: [
            DitherConfig { amplitude: Milliamps::new(0).unwrap(), cycle: Millis::millis(2) },
            DitherConfig { amplitude: Milliamps::new(500).unwrap(), cycle: Millis::millis(100) },
        ],
        refused: [
            DitherConfig { amplitude: Milliamps::new(501).unwrap(), cycle: Millis::millis(10) } => "dither amplitude 501 mA is above 500 mA",
            DitherConfig { amplitude: Milliamps::new(0).unwrap(), cycle: Millis::millis(0) } => "dither cycle 0 ms is not an even number of loop periods of 1000 µs up to 100 ms",
            DitherConfig { amplitude: Milliamps::new(0).unwrap(), cycle: Millis::millis(9) } => "dither cycle 9 ms is not an even number of loop periods of 1000 µs up to 100 ms",
            DitherConfig { amplitude: Milliamps::new(0).unwrap(), cycle: Millis::millis(102) } => "dither cycle 102 ms is not an even number of loop periods of 1000 µs up to 100 ms",
        ],
        inputs: 0_u16..1_000,
        step: |block, set| block.step(Milliamps::new(set).unwrap()),
        reset: |block| block.reset(),
    }
}
