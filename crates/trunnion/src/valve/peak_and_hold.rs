//! A coil that is either on or off, and cooler when on.

use core::fmt;

use crate::quantity::{Duty, Millis, Millivolts, Period, scale_symmetric};

/// Rules of a [`PeakAndHold`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct PeakAndHoldConfig {
    /// How long the coil gets the whole supply to pull its armature in, 10 ms to 2 s.
    pub peak: Millis,
    /// Mean voltage that holds the armature, above 0 V and at most the lowest supply.
    pub hold: Millivolts,
    /// Lowest plausible supply. Below it the armature may fall off.
    pub lowest_supply: Millivolts,
    /// Highest plausible supply, above the lowest.
    pub highest_supply: Millivolts,
}

/// Why a [`PeakAndHoldConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PeakAndHoldConfigError {
    /// The time to pull in is outside 10 ms to 2 s.
    Peak(Millis),
    /// The voltage to hold is zero or above the lowest supply.
    Hold {
        /// What was asked for.
        hold: Millivolts,
        /// Lowest plausible supply.
        lowest_supply: Millivolts,
    },
    /// The highest supply is not above the lowest.
    Supply {
        /// Lowest plausible supply.
        lowest: Millivolts,
        /// Highest plausible supply.
        highest: Millivolts,
    },
}

impl fmt::Display for PeakAndHoldConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Peak(given) => write!(
                formatter,
                "peak of {given}: set {} to {}",
                PeakAndHold::SHORTEST_PEAK,
                PeakAndHold::LONGEST_PEAK
            ),
            Self::Hold { hold, lowest_supply } => write!(
                formatter,
                "coil held with {} mV: set 1 mV to the lowest supply, {} mV",
                hold.raw(),
                lowest_supply.raw()
            ),
            Self::Supply { lowest, highest } => write!(
                formatter,
                "highest supply of {} mV: set it above the lowest supply, {} mV",
                highest.raw(),
                lowest.raw()
            ),
        }
    }
}

impl core::error::Error for PeakAndHoldConfigError {}

/// Switches a coil on with the whole supply, then holds it with less: brake, two-speed shift, cut-off valve.
///
/// Off is a duty of exactly zero in the same step. Switched on, the coil gets 100 % for `peak`, never shorter, and then what
/// gives `hold` as its mean voltage at the present supply, to the nearest 0.01 %. While the supply is below its lowest, all of it goes
/// to the coil, and the peak starts anew when it is back: the armature may have fallen off while the engine was
/// cranked. Above the highest, and when its sense has failed, the highest is assumed, so that no coil is
/// overheated; a coil that then falls off is the safe side of a spring-applied brake.
///
#[doc = include_str!("../../docs/valve-peak_and_hold.svg")]
///
/// ```
/// use trunnion::quantity::{Duty, Millis, Millivolts, Period};
/// use trunnion::valve::{PeakAndHold, PeakAndHoldConfig};
///
/// let millivolts = |raw| Millivolts::new(raw).unwrap();
/// let config = PeakAndHoldConfig {
///     peak: Millis::millis(20),
///     hold: millivolts(5_000),
///     lowest_supply: millivolts(9_000),
///     highest_supply: millivolts(16_000),
/// };
/// let mut brake = PeakAndHold::new(config, Period::from_micros(10_000).unwrap())?;
/// let mut step = |on| brake.step(on, Some(millivolts(12_500)));
/// assert_eq!([step(true), step(true)], [Duty::MAX; 2]);
/// assert_eq!(step(true), Duty::new(4_000).unwrap()); // 40 % of 12.5 V is 5 V
/// assert_eq!(step(false), Duty::ZERO);
/// # Ok::<(), trunnion::valve::PeakAndHoldConfigError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct PeakAndHold {
    peak_steps: u32,
    hold: Millivolts,
    lowest_supply: Millivolts,
    highest_supply: Millivolts,
    period: Period,
    /// Steps of the peak that are still to come.
    peak_left: u32,
}

impl PeakAndHold {
    /// Shortest time to pull in.
    pub const SHORTEST_PEAK: Millis = Millis::millis(10);
    /// Longest time to pull in.
    pub const LONGEST_PEAK: Millis = Millis::millis(2_000);

    /// Off. Refuses values outside their range.
    ///
    /// # Errors
    ///
    /// [`PeakAndHoldConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: PeakAndHoldConfig, period: Period) -> Result<Self, PeakAndHoldConfigError> {
        let PeakAndHoldConfig { peak, hold, lowest_supply, highest_supply } = config;
        if peak.ticks() < Self::SHORTEST_PEAK.ticks() || peak.ticks() > Self::LONGEST_PEAK.ticks() {
            return Err(PeakAndHoldConfigError::Peak(peak));
        }
        if hold.raw() == 0 || hold.raw() > lowest_supply.raw() {
            return Err(PeakAndHoldConfigError::Hold { hold, lowest_supply });
        }
        if highest_supply.raw() <= lowest_supply.raw() {
            return Err(PeakAndHoldConfigError::Supply { lowest: lowest_supply, highest: highest_supply });
        }
        let peak_steps = period.steps(peak);
        Ok(Self { peak_steps, hold, lowest_supply, highest_supply, period, peak_left: peak_steps })
    }

    /// Other values; a coil that is held stays held, a peak that is under way is cut to the new time.
    ///
    /// # Errors
    ///
    /// [`PeakAndHoldConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: PeakAndHoldConfig) -> Result<(), PeakAndHoldConfigError> {
        let new = Self::new(config, self.period)?;
        let off = self.peak_left == self.peak_steps;
        let peak_left = if off { new.peak_steps } else { self.peak_left.min(new.peak_steps) };
        *self = Self { peak_left, ..new };
        Ok(())
    }

    /// The next step that is on begins with the peak.
    pub fn reset(&mut self) {
        self.peak_left = self.peak_steps;
    }

    /// The duty for the coming step; `supply` is `None` when its sense has failed.
    pub fn step(&mut self, on: bool, supply: Option<Millivolts>) -> Duty {
        let supply = supply.unwrap_or(self.highest_supply).at_most(self.highest_supply);
        if !on {
            self.reset();
            return Duty::ZERO;
        }
        if supply < self.lowest_supply {
            self.reset();
            return Duty::MAX;
        }
        if self.peak_left > 0 {
            self.peak_left = self.peak_left.saturating_sub(1);
            return Duty::MAX;
        }
        let duty =
            scale_symmetric(i64::from(self.hold.raw()), i64::from(Duty::MAX.raw()), i64::from(supply.raw()));
        Duty::saturating(duty)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn millivolts(raw: u16) -> Millivolts {
        Millivolts::new(raw).unwrap()
    }

    fn config() -> PeakAndHoldConfig {
        PeakAndHoldConfig {
            peak: Millis::millis(50),
            hold: millivolts(5_000),
            lowest_supply: millivolts(9_000),
            highest_supply: millivolts(16_000),
        }
    }

    fn coil() -> PeakAndHold {
        PeakAndHold::new(config(), TICK).unwrap()
    }

    fn supply() -> impl Strategy<Value = Option<Millivolts>> {
        prop_oneof![
            6 => (9_000_u16..=16_000).prop_map(|raw| Some(millivolts(raw))),
            1 => (0_u16..9_000).prop_map(|raw| Some(millivolts(raw))),
            1 => (16_001_u16..).prop_map(|raw| Some(millivolts(raw))),
            1 => Just(None),
        ]
    }

    proptest! {
        #[test]
        fn every_switching_on_and_every_dip_is_followed_by_one_whole_peak(
            steps in proptest::collection::vec((prop::bool::weighted(0.95), supply()), 0..100)
        ) {
            let mut coil = coil();
            let dips = |supply: Option<Millivolts>| supply.is_some_and(|supply| supply.raw() < 9_000);
            let mut held_for = 0;
            for (on, supply) in steps {
                let duty = coil.step(on, supply);
                held_for = if on && !dips(supply) { held_for + 1 } else { 0 };
                let expected = match (on, held_for) {
                    (false, _) => 0.0,
                    (true, 0..=5) => 10_000.0,
                    _ => 5_000.0 * 10_000.0 / f64::from(supply.map_or(16_000, Millivolts::raw).min(16_000)),
                };
                prop_assert!((f64::from(duty.raw()) - expected).abs() <= 0.5, "{:?}, not {}", duty, expected);
            }
        }

        #[test]
        fn the_mean_voltage_is_held_whatever_the_plausible_supply(raw in 9_000_u16..=16_000) {
            let mut coil = coil();
            for _ in 0..5 {
                coil.step(true, Some(millivolts(raw)));
            }
            let mean = f64::from(coil.step(true, Some(millivolts(raw))).raw()) / 10_000.0 * f64::from(raw);
            prop_assert!((mean - 5_000.0).abs() <= 0.000_05 * f64::from(raw) + 1e-9);
        }
    }

    #[test]
    fn the_lowest_supply_still_holds_and_less_of_it_starts_the_peak_anew() {
        let mut coil = coil();
        let mut step = |raw| coil.step(true, Some(millivolts(raw)));
        assert!((0..5).all(|_| step(9_000) == Duty::MAX));
        assert_eq!(step(9_000), Duty::new(5_556).unwrap());
        assert!(step(8_999) == Duty::MAX && (0..5).all(|_| step(9_000) == Duty::MAX));
        assert_eq!(step(9_000), Duty::new(5_556).unwrap());
    }

    #[test]
    fn a_held_coil_stays_held_through_a_reconfiguration_and_one_that_is_off_gets_the_new_peak() {
        let longer = PeakAndHoldConfig { peak: Millis::millis(80), ..config() };
        let mut held = coil();
        for _ in 0..5 {
            held.step(true, None);
        }
        held.reconfigure(longer).unwrap();
        assert!(held.step(true, None) < Duty::MAX);
        let mut off = coil();
        off.reconfigure(longer).unwrap();
        assert!((0..8).all(|_| off.step(true, None) == Duty::MAX));
        assert!(off.step(true, None) < Duty::MAX);
    }

    #[test]
    fn values_outside_their_range_are_refused_with_what_to_do_and_change_nothing() {
        let mut coil = coil();
        for (bad, message) in [
            (PeakAndHoldConfig { peak: Millis::millis(9), ..config() }, "peak of 9 ms: set 10 ms to 2000 ms"),
            (
                PeakAndHoldConfig { hold: millivolts(9_001), ..config() },
                "coil held with 9001 mV: set 1 mV to the lowest supply, 9000 mV",
            ),
            (
                PeakAndHoldConfig { hold: millivolts(0), ..config() },
                "coil held with 0 mV: set 1 mV to the lowest supply, 9000 mV",
            ),
            (
                PeakAndHoldConfig { highest_supply: millivolts(9_000), ..config() },
                "highest supply of 9000 mV: set it above the lowest supply, 9000 mV",
            ),
        ] {
            assert_eq!(std::format!("{}", coil.reconfigure(bad).unwrap_err()), message);
            assert_eq!((coil.peak_steps, coil.hold.raw()), (5, 5_000));
        }
    }
}
