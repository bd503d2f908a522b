//! Standstill is seen, not assumed.

use core::fmt;

use crate::quantity::{Millis, Period, Rpm};
use crate::sense::Reading;

/// Rules of a [`Standstill`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct StandstillConfig {
    /// Motor or track speed below which a side stands, 1/8 rpm to 200 rpm.
    pub band: Rpm,
    /// For how long, 50 ms to 10 s.
    pub hold: Millis,
}

/// Why a [`StandstillConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum StandstillConfigError {
    /// The band is outside 1/8 rpm to 200 rpm.
    Band(Rpm),
    /// The time is outside 50 ms to 10 s.
    Hold(Millis),
}

impl fmt::Display for StandstillConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Band(given) => {
                write!(formatter, "standstill band of {}/8 rpm: set 1/8 rpm to 200 rpm", given.raw())
            }
            Self::Hold(given) => write!(
                formatter,
                "standstill for {given}: set {} to {}",
                Standstill::SHORTEST_HOLD,
                Standstill::LONGEST_HOLD
            ),
        }
    }
}

impl core::error::Error for StandstillConfigError {}

/// Says that the machine stands: nothing commanded and both sides slow for a while.
///
/// A side whose pickup is faulted is not at rest, so whoever waits for standstill needs a time-out. At construction and
/// after `reset` the machine is not known to stand.
///
#[doc = include_str!("../../docs/guard-standstill.svg")]
///
/// ```
/// use trunnion::guard::{Standstill, StandstillConfig};
/// use trunnion::quantity::{Millis, Period, Rpm};
/// use trunnion::sense::{Flaw, Reading};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = StandstillConfig { band: Rpm::from_whole(10), hold: Millis::millis(200) };
/// let mut standstill = Standstill::new(config, TICK).unwrap();
///
/// let (rolling, slow) = (Reading::Valid(Rpm::from_whole(-40)), Reading::Valid(Rpm::from_whole(3)));
/// assert!(!standstill.step(true, rolling, slow));
/// for _ in 0..20 {
///     assert!(!standstill.step(true, slow, slow));
/// }
/// assert!(standstill.step(true, slow, slow));
/// assert!(!standstill.step(true, slow, Reading::Faulted(Flaw::Silent)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Standstill {
    band: Rpm,
    hold: u32,
    period: Period,
    slow_for: u32,
    stands: bool,
}

impl Standstill {
    /// Widest band.
    pub const WIDEST_BAND: Rpm = Rpm::from_whole(200);
    /// Shortest time.
    pub const SHORTEST_HOLD: Millis = Millis::millis(50);
    /// Longest time.
    pub const LONGEST_HOLD: Millis = Millis::millis(10_000);

    /// Not known to stand. Refuses a band or a time outside its range.
    ///
    /// # Errors
    ///
    /// [`StandstillConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: StandstillConfig, period: Period) -> Result<Self, StandstillConfigError> {
        if config.band.raw() <= 0 || config.band.raw() > Self::WIDEST_BAND.raw() {
            return Err(StandstillConfigError::Band(config.band));
        }
        if config.hold.ticks() < Self::SHORTEST_HOLD.ticks()
            || config.hold.ticks() > Self::LONGEST_HOLD.ticks()
        {
            return Err(StandstillConfigError::Hold(config.hold));
        }
        Ok(Self { band: config.band, hold: period.steps(config.hold), period, slow_for: 0, stands: false })
    }

    /// Other rules; what is known stays until the next step.
    ///
    /// # Errors
    ///
    /// [`StandstillConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: StandstillConfig) -> Result<(), StandstillConfigError> {
        let Self { band, hold, .. } = Self::new(config, self.period)?;
        *self = Self { band, hold, ..*self };
        Ok(())
    }

    /// Not known to stand.
    pub fn reset(&mut self) {
        self.slow_for = 0;
        self.stands = false;
    }

    /// One period; `commands_zero` says that ramps and commanded currents of the drive are zero.
    pub fn step(&mut self, commands_zero: bool, left: Reading<Rpm>, right: Reading<Rpm>) -> bool {
        if commands_zero && self.is_slow(left) && self.is_slow(right) {
            self.stands = self.slow_for >= self.hold;
            self.slow_for = self.slow_for.saturating_add(1);
        } else {
            self.reset();
        }
        self.stands
    }

    /// True when the machine stood in the last step.
    pub const fn stands(&self) -> bool {
        self.stands
    }

    fn is_slow(&self, speed: Reading<Rpm>) -> bool {
        speed.valid().is_some_and(|speed| speed.magnitude() <= self.band)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: StandstillConfig =
        StandstillConfig { band: Rpm::from_whole(10), hold: Millis::millis(200) };

    fn speed() -> impl Strategy<Value = Reading<Rpm>> {
        prop_oneof![
            8 => (-12i32..=12).prop_map(|rpm| Reading::Valid(Rpm::from_whole(rpm))),
            1 => Just(Reading::Faulted(Flaw::Silent)),
        ]
    }

    fn is_at_rest(side: Reading<Rpm>) -> bool {
        matches!(side, Reading::Valid(speed) if speed.raw().abs() <= 80)
    }

    proptest! {
        #[test]
        fn the_machine_stands_exactly_when_both_sides_were_slow_with_nothing_commanded_for_the_hold_time(
            stream in proptest::collection::vec((prop::bool::weighted(0.9), speed(), speed(), 1usize..50), 1..20)
        ) {
            let mut standstill = Standstill::new(CONFIG, TICK).unwrap();
            let mut steps_at_rest = 0;
            for (commands_zero, left, right, steps) in stream {
                for _ in 0..steps {
                    let at_rest = commands_zero && is_at_rest(left) && is_at_rest(right);
                    steps_at_rest = if at_rest { steps_at_rest + 1 } else { 0 };
                    prop_assert_eq!(standstill.step(commands_zero, left, right), steps_at_rest > 20);
                    prop_assert_eq!(standstill.stands(), steps_at_rest > 20);
                }
            }
        }

        #[test]
        fn a_faulted_pickup_is_never_at_rest(other in speed(), steps in 1usize..500) {
            let mut standstill = Standstill::new(CONFIG, TICK).unwrap();
            for _ in 0..steps {
                prop_assert!(!standstill.step(true, Reading::Faulted(Flaw::WireBreak), other));
            }
        }
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let error = Standstill::new(StandstillConfig { band: Rpm::ZERO, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(std::format!("{error}"), "standstill band of 0/8 rpm: set 1/8 rpm to 200 rpm");
        let hold = Millis::millis(10_001);
        let error = Standstill::new(StandstillConfig { hold, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(error, StandstillConfigError::Hold(hold));
    }

    four_verbs! {
        new: |config| Standstill::new(config, TICK),
        configs: (CONFIG, StandstillConfig { band: Rpm::from_whole(11), hold: Millis::millis(90) }),
        accepted: [
            StandstillConfig { band: Rpm::new(1).unwrap(), ..CONFIG },
            StandstillConfig { band: Rpm::from_whole(200), ..CONFIG },
            StandstillConfig { hold: Millis::millis(50), ..CONFIG },
            StandstillConfig { hold: Millis::millis(10000), ..CONFIG },
        ],
        refused: [
            StandstillConfig { band: Rpm::ZERO, ..CONFIG } => "standstill band of 0/8 rpm: set 1/8 rpm to 200 rpm",
            StandstillConfig { band: Rpm::new(1_601).unwrap(), ..CONFIG } => "standstill band of 1601/8 rpm: set 1/8 rpm to 200 rpm",
            StandstillConfig { hold: Millis::millis(49), ..CONFIG } => "standstill for 49 ms: set 50 ms to 10000 ms",
            StandstillConfig { hold: Millis::millis(10001), ..CONFIG } => "standstill for 10001 ms: set 50 ms to 10000 ms",
        ],
        inputs: (prop::bool::weighted(0.9), speed(), speed()),
        step: |block, (zero, left, right)| (block.step(zero, left, right), block.stands()),
        reset: |block| block.reset(),
    }
}
