//! The slope drives the machine.

use core::fmt;

use super::speed_share::SpeedShare;
use crate::quantity::{Millis, Period, Ratio, Rpm};
use crate::sense::Reading;

/// Speeds of an [`Overspeed`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct OverspeedConfig {
    /// Up to this speed of the engine or of a motor nothing is done, above 0 rpm: above the no-load speed of the governor.
    pub begin: Rpm,
    /// At this speed all of the retarder is asked for, above `begin`: at or below what the maker allows.
    pub full: Rpm,
    /// Time from all to nothing when the speed has fallen, 10 ms to 30 s.
    pub release: Millis,
}

/// Why an [`OverspeedConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum OverspeedConfigError {
    /// The speed to begin at is not above zero.
    Begin(Rpm),
    /// The speed of all is not above the speed to begin at.
    Full {
        /// Speed to begin at.
        begin: Rpm,
        /// Speed of all.
        full: Rpm,
    },
    /// The time to release is outside 10 ms to 30 s.
    Release(Millis),
}

impl fmt::Display for OverspeedConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Begin(given) => {
                write!(formatter, "retarding from {}/8 rpm: set it above 0 rpm", given.raw())
            }
            Self::Full { begin, full } => write!(
                formatter,
                "all retarding at {}/8 rpm: set it above {}/8 rpm, where it begins",
                full.raw(),
                begin.raw()
            ),
            Self::Release(given) => write!(
                formatter,
                "release of the retarder in {given}: set {} to {}",
                Overspeed::SHORTEST_RELEASE,
                Overspeed::LONGEST_RELEASE
            ),
        }
    }
}

impl core::error::Error for OverspeedConfigError {}

/// What an [`Overspeed`] asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct OverspeedDemand {
    /// How much of the retarder or of the service brake, 0 to 1.
    pub retard: Ratio,
    /// No shift to the fast range and no faster destroking of the pump: either would drive the engine up more.
    pub hold_back: bool,
}

/// Brakes a hydrostatic drive that a downgrade drives over its speed.
///
/// Downhill the motors pump and the engine is all that holds; once it turns faster than its governor lets it, more torque
/// has to come from a retarder or a brake. Nothing up to `begin`, a straight line to all at `full`, either way of
/// turning. The demand rises at once and falls at a limited rate, so that the brake does not chatter. `hold_back` is on
/// while anything is asked for. Without a valid speed the demand releases at its rate (a broken wire must not lock the
/// wheels), and `hold_back` is on: it may be fast. One for the engine and one for the motors; the larger demand counts.
///
#[doc = include_str!("../../docs/propel-overspeed.svg")]
///
/// ```
/// use trunnion::propel::{Overspeed, OverspeedConfig};
/// use trunnion::quantity::{Millis, Period, Rpm};
/// use trunnion::sense::Reading;
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = OverspeedConfig {
///     begin: Rpm::from_whole(2_800),
///     full: Rpm::from_whole(3_200),
///     release: Millis::millis(1_000),
/// };
/// let mut engine = Overspeed::new(config, TICK).unwrap();
/// let mut at = |rpm| engine.step(Reading::Valid(Rpm::from_whole(rpm)));
///
/// assert!(!at(2_800).hold_back);
/// assert_eq!(at(3_000).retard.to_permille().raw(), 500);
/// assert_eq!(at(2_700).retard.to_permille().raw(), 490); // 10 ms of a release in 1 s
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Overspeed {
    begin: Rpm,
    width: SpeedShare,
    release: Ratio,
    period: Period,
    retard: Ratio,
}

impl Overspeed {
    /// Shortest time to release.
    pub const SHORTEST_RELEASE: Millis = Millis::millis(10);
    /// Longest time to release.
    pub const LONGEST_RELEASE: Millis = Millis::millis(30_000);

    /// Nothing asked for. Refuses values outside their range.
    ///
    /// # Errors
    ///
    /// [`OverspeedConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: OverspeedConfig, period: Period) -> Result<Self, OverspeedConfigError> {
        let OverspeedConfig { begin, full, release } = config;
        if begin.raw() <= 0 {
            return Err(OverspeedConfigError::Begin(begin));
        }
        if full.raw() <= begin.raw() {
            return Err(OverspeedConfigError::Full { begin, full });
        }
        if release.ticks() < Self::SHORTEST_RELEASE.ticks() || release.ticks() > Self::LONGEST_RELEASE.ticks()
        {
            return Err(OverspeedConfigError::Release(release));
        }
        let micros = (release.ticks() as i64).wrapping_mul(1000);
        Ok(Self {
            begin,
            width: SpeedShare::of(full.minus(begin)),
            release: Ratio::from_quotient(period.micros() as i64, micros),
            period,
            retard: Ratio::ZERO,
        })
    }

    /// Other speeds; what is asked for stays until the next step.
    ///
    /// # Errors
    ///
    /// [`OverspeedConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: OverspeedConfig) -> Result<(), OverspeedConfigError> {
        *self = Self { retard: self.retard, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// Nothing asked for, at once.
    pub fn reset(&mut self) {
        self.retard = Ratio::ZERO;
    }

    /// One period.
    pub fn step(&mut self, speed: Reading<Rpm>) -> OverspeedDemand {
        let above = speed.or(Rpm::ZERO).magnitude().minus(self.begin).at_least(Rpm::ZERO);
        let asked = self.width.at(above);
        self.retard = asked.at_least(self.retard.minus(self.release)).at_least(Ratio::ZERO);
        OverspeedDemand { retard: self.retard, hold_back: !speed.is_valid() || !self.retard.is_zero() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn config() -> impl Strategy<Value = OverspeedConfig> {
        (1_000..3_000, 1..1_000, 10_u32..5_000).prop_map(|(begin, width, release)| OverspeedConfig {
            begin: Rpm::from_whole(begin),
            full: Rpm::from_whole(begin + width),
            release: Millis::millis(release),
        })
    }

    fn speed() -> impl Strategy<Value = Reading<Rpm>> {
        prop_oneof![
            9 => (-4_500..=4_500).prop_map(|rpm| Reading::Valid(Rpm::from_whole(rpm))),
            1 => Just(Reading::Faulted(Flaw::Silent)),
        ]
    }

    proptest! {
        #[test]
        fn the_demand_is_at_least_its_line_at_once_and_falls_no_faster_than_its_time(
            config in config(), speeds in proptest::collection::vec(speed(), 1..100)
        ) {
            let mut overspeed = Overspeed::new(config, TICK).unwrap();
            let mut before = 0;
            let fastest = (i64::from(Ratio::ONE_BITS) * 10 / i64::from(config.release.ticks())).min(1 << 30) as i32 + 1;
            for speed in speeds {
                let OverspeedDemand { retard, hold_back } = overspeed.step(speed);
                prop_assert!(retard >= Ratio::ZERO && before - retard.to_bits() <= fastest);
                let rpm = speed.or(Rpm::ZERO).magnitude();
                prop_assert!(rpm < config.full || retard == Ratio::ONE);
                prop_assert!(rpm > config.begin || retard.to_bits() <= before);
                prop_assert!(retard.is_zero() || hold_back);
                prop_assert!(speed.is_valid() || hold_back);
                before = retard.to_bits();
            }
        }

        #[test]
        fn more_speed_never_asks_for_less_and_both_ways_are_alike(config in config(), one in -4_500..=4_500, other in -4_500..=4_500_i32) {
            let at = |rpm: i32| Overspeed::new(config, TICK).unwrap().step(Reading::Valid(Rpm::from_whole(rpm))).retard;
            let (one, other): (i32, i32) = (one, other);
            prop_assert!(at(one.abs().min(other.abs())) <= at(one.abs().max(other.abs())));
            prop_assert_eq!(at(-one), at(one));
        }

        #[test]
        fn below_its_speed_all_is_released_after_its_time(config in config()) {
            let mut overspeed = Overspeed::new(config, TICK).unwrap();
            overspeed.step(Reading::Valid(config.full));
            // Rounding the release to nearest can leave one more step.
            for _ in 0..=TICK.steps(config.release) {
                overspeed.step(Reading::Valid(config.begin));
            }
            prop_assert_eq!(overspeed.step(Reading::Valid(config.begin)), OverspeedDemand::default());
        }
    }

    #[test]
    fn values_outside_their_range_are_refused_with_what_to_do_and_change_nothing() {
        let good = OverspeedConfig {
            begin: Rpm::from_whole(1),
            full: Rpm::from_whole(2),
            release: Millis::millis(10),
        };
        let mut overspeed = Overspeed::new(good, TICK).unwrap();
        overspeed.step(Reading::Valid(Rpm::from_whole(2)));
        for (bad, message) in [
            (OverspeedConfig { begin: Rpm::ZERO, ..good }, "retarding from 0/8 rpm: set it above 0 rpm"),
            (
                OverspeedConfig { full: good.begin, ..good },
                "all retarding at 8/8 rpm: set it above 8/8 rpm, where it begins",
            ),
            (
                OverspeedConfig { release: Millis::millis(9), ..good },
                "release of the retarder in 9 ms: set 10 ms to 30000 ms",
            ),
        ] {
            assert_eq!(std::format!("{}", overspeed.reconfigure(bad).unwrap_err()), message);
            assert_eq!(overspeed.retard, Ratio::ONE);
        }
        overspeed.reset();
        assert_eq!(overspeed.retard, Ratio::ZERO);
    }

    four_verbs! {
        new: |config| Overspeed::new(config, TICK),
        configs: (OverspeedConfig { begin: Rpm::new(16000).unwrap(), full: Rpm::new(20000).unwrap(), release: Millis::millis(500) }, OverspeedConfig { begin: Rpm::new(8000).unwrap(), full: Rpm::new(24000).unwrap(), release: Millis::millis(900) }),
        accepted: [
            OverspeedConfig { begin: Rpm::new(1).unwrap(), full: Rpm::new(2).unwrap(), release: Millis::millis(10) },
            OverspeedConfig { begin: Rpm::new(1).unwrap(), full: Rpm::new(2).unwrap(), release: Millis::millis(30000) },
        ],
        refused: [
            OverspeedConfig { begin: Rpm::new(0).unwrap(), full: Rpm::new(2).unwrap(), release: Millis::millis(10) } => "retarding from 0/8 rpm: set it above 0 rpm",
            OverspeedConfig { begin: Rpm::new(9).unwrap(), full: Rpm::new(9).unwrap(), release: Millis::millis(10) } => "all retarding at 9/8 rpm: set it above 9/8 rpm, where it begins",
            OverspeedConfig { begin: Rpm::new(1).unwrap(), full: Rpm::new(2).unwrap(), release: Millis::millis(9) } => "release of the retarder in 9 ms: set 10 ms to 30000 ms",
            OverspeedConfig { begin: Rpm::new(1).unwrap(), full: Rpm::new(2).unwrap(), release: Millis::millis(30001) } => "release of the retarder in 30001 ms: set 10 ms to 30000 ms",
        ],
        inputs: speed(),
        step: |block, speed| block.step(speed),
        reset: |block| block.reset(),
    }
}
