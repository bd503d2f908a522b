//! Less drive before the engine stalls.

use core::fmt;

use crate::quantity::{Divisor, Millis, Period, Permille, Ratio, Rpm};
use crate::sense::Reading;

/// Rules of an [`AntiStall`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct AntiStallConfig {
    /// Droop from which drive is reduced, as a share of the expected speed, 10 to 500 ‰. Above the droop of the
    /// governor at full load.
    pub begin: Permille,
    /// Droop at which the floor is reached, above `begin`, up to 900 ‰.
    pub full: Permille,
    /// What always remains, 0 to 900 ‰.
    pub floor: Permille,
    /// Time from zero to the full share, 10 ms to 30 s.
    pub recovery: Millis,
}

/// Why an [`AntiStallConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum AntiStallConfigError {
    /// The droop to begin at is outside 10 to 500 ‰.
    Begin(Permille),
    /// The droop of the floor is not above the droop to begin at, or above 900 ‰.
    Full {
        /// Droop to begin at.
        begin: Permille,
        /// Droop of the floor.
        full: Permille,
    },
    /// The floor is outside 0 to 900 ‰.
    Floor(Permille),
    /// The time to recover is outside 10 ms to 30 s.
    Recovery(Millis),
}

impl fmt::Display for AntiStallConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Begin(given) => {
                write!(formatter, "reduction from a droop of {} ‰: set 10 ‰ to 500 ‰", given.raw())
            }
            Self::Full { begin, full } => write!(
                formatter,
                "floor at a droop of {} ‰: set it above {} ‰, where reduction begins, and up to 900 ‰",
                full.raw(),
                begin.raw()
            ),
            Self::Floor(given) => write!(formatter, "floor of {} ‰: set 0 ‰ to 900 ‰", given.raw()),
            Self::Recovery(given) => write!(
                formatter,
                "recovery in {given}: set {} to {}",
                AntiStall::SHORTEST_RECOVERY,
                AntiStall::LONGEST_RECOVERY
            ),
        }
    }
}

impl core::error::Error for AntiStallConfigError {}

/// Reduces the drive when the engine falls behind the speed that is expected of it.
///
/// Droop is (expected − actual) / expected. Up to `begin` nothing is taken, from there a straight line to the floor at
/// `full`. The share falls at once and recovers at a limited rate, so that engine and drive do not swing. Where the
/// actual speed is faulted, or none is expected, the share is the floor: the only one that cannot stall the engine.
///
#[doc = include_str!("../../docs/propel-anti_stall.svg")]
///
/// ```
/// use trunnion::propel::{AntiStall, AntiStallConfig};
/// use trunnion::quantity::{Millis, Period, Permille, Ratio, Rpm};
/// use trunnion::sense::Reading;
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let mut anti_stall = AntiStall::new(
///     AntiStallConfig {
///         begin: Permille::new(100).unwrap(),
///         full: Permille::new(300).unwrap(),
///         floor: Permille::new(200).unwrap(),
///         recovery: Millis::millis(1_000),
///     },
///     TICK,
/// )
/// .unwrap();
/// let expected = Rpm::from_whole(2_000);
///
/// assert_eq!(anti_stall.step(expected, Reading::Valid(Rpm::from_whole(1_900))), Ratio::ONE);
/// let share = anti_stall.step(expected, Reading::Valid(Rpm::from_whole(1_600))); // 20 % droop
/// assert_eq!(share.to_permille().raw(), 600);
/// let share = anti_stall.step(expected, Reading::Valid(expected));
/// assert_eq!(share.to_permille().raw(), 610); // 10 ms of a recovery in 1 s
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct AntiStall {
    begin: Ratio,
    width: Divisor,
    floor: Ratio,
    recovery: Ratio,
    period: Period,
    share: Ratio,
}

impl AntiStall {
    /// Shortest time to recover.
    pub const SHORTEST_RECOVERY: Millis = Millis::millis(10);
    /// Longest time to recover.
    pub const LONGEST_RECOVERY: Millis = Millis::millis(30_000);

    /// With the full share. Refuses values outside their range.
    ///
    /// # Errors
    ///
    /// [`AntiStallConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: AntiStallConfig, period: Period) -> Result<Self, AntiStallConfigError> {
        let AntiStallConfig { begin, full, floor, recovery } = config;
        if begin.raw() < 10 || begin.raw() > 500 {
            return Err(AntiStallConfigError::Begin(begin));
        }
        if full.raw() <= begin.raw() || full.raw() > 900 {
            return Err(AntiStallConfigError::Full { begin, full });
        }
        if floor.raw() < 0 || floor.raw() > 900 {
            return Err(AntiStallConfigError::Floor(floor));
        }
        if recovery.ticks() < Self::SHORTEST_RECOVERY.ticks()
            || recovery.ticks() > Self::LONGEST_RECOVERY.ticks()
        {
            return Err(AntiStallConfigError::Recovery(recovery));
        }
        let begin = Ratio::from_quotient(begin.raw() as i64, 1000);
        let full = Ratio::from_quotient(full.raw() as i64, 1000);
        let micros = (recovery.ticks() as i64).wrapping_mul(1000);
        Ok(Self {
            begin,
            width: Divisor::of(full.minus(begin).to_bits().unsigned_abs()),
            floor: Ratio::from_quotient(floor.raw() as i64, 1000),
            recovery: Ratio::from_quotient(period.micros() as i64, micros),
            period,
            share: Ratio::ONE,
        })
    }

    /// Other rules; the share stays until the next step.
    ///
    /// # Errors
    ///
    /// [`AntiStallConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: AntiStallConfig) -> Result<(), AntiStallConfigError> {
        *self = Self { share: self.share, ..Self::new(config, self.period)? };
        Ok(())
    }

    /// To the full share at once.
    pub fn reset(&mut self) {
        self.share = Ratio::ONE;
    }

    /// One period: the share that the drive may have, in [floor, 1].
    pub fn step(&mut self, expected: Rpm, actual: Reading<Rpm>) -> Ratio {
        let allowed = actual.valid().map_or(self.floor, |actual| self.allowed(expected, actual));
        self.share = allowed.at_most(self.share.plus(self.recovery)).at_least(self.floor);
        self.share
    }

    /// The share of the last step.
    pub const fn share(&self) -> Ratio {
        self.share
    }

    fn allowed(&self, expected: Rpm, actual: Rpm) -> Ratio {
        if expected <= Rpm::ZERO {
            return self.floor;
        }
        let droop = expected.minus(actual).share_of(expected);
        let excess = droop.minus(self.begin).at_least(Ratio::ZERO);
        let reduction = self.width.share(excess);
        Ratio::ONE.minus(Ratio::ONE.minus(self.floor).times(reduction))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const EXPECTED: Rpm = Rpm::from_whole(2_000);

    fn config() -> impl Strategy<Value = AntiStallConfig> {
        (10i16..=500, 1i16..=400, 0i16..=900, 10u32..=5_000).prop_map(|(begin, width, floor, recovery)| {
            AntiStallConfig {
                begin: Permille::new(begin).unwrap(),
                full: Permille::new(begin + width).unwrap(),
                floor: Permille::new(floor).unwrap(),
                recovery: Millis::millis(recovery),
            }
        })
    }

    fn speed() -> impl Strategy<Value = Reading<Rpm>> {
        prop_oneof![
            9 => (-100i32..=2_500).prop_map(|rpm| Reading::Valid(Rpm::from_whole(rpm))),
            1 => Just(Reading::Faulted(Flaw::Silent)),
        ]
    }

    fn fresh(config: AntiStallConfig) -> AntiStall {
        AntiStall::new(config, TICK).unwrap()
    }

    proptest! {
        #[test]
        fn the_share_stays_between_floor_and_one_and_recovers_no_faster_than_its_time(
            config in config(), speeds in proptest::collection::vec(speed(), 1..60)
        ) {
            let mut anti_stall = fresh(config);
            let fastest = i64::from(TICK.micros()) * i64::from(Ratio::ONE_BITS)
                / (i64::from(config.recovery.ticks()) * 1000) + 1;
            for speed in speeds {
                let before = anti_stall.share();
                let share = anti_stall.step(EXPECTED, speed);
                prop_assert!(share >= config.floor.into() && share <= Ratio::ONE);
                prop_assert!(i64::from(share.to_bits()) - i64::from(before.to_bits()) <= fastest);
            }
        }

        #[test]
        fn the_share_falls_at_once_and_never_rises_with_droop(config in config(), one in 0i32..=2_500, other in 0i32..=2_500) {
            let at = |rpm| fresh(config).step(EXPECTED, Reading::Valid(Rpm::from_whole(rpm)));
            prop_assert!(at(one.min(other)) <= at(one.max(other)));
            let droop = |permille: Permille| EXPECTED.raw() - EXPECTED.raw() * i32::from(permille.raw()) / 1000;
            let raw = |raw| fresh(config).step(EXPECTED, Reading::Valid(Rpm::new(raw).unwrap()));
            prop_assert_eq!(raw(droop(config.begin)), Ratio::ONE);
            prop_assert_eq!(raw(droop(config.full)), config.floor.into());
        }

        #[test]
        fn a_faulted_speed_or_none_expected_leaves_the_floor(config in config(), speed in speed()) {
            prop_assert_eq!(fresh(config).step(EXPECTED, Reading::Faulted(Flaw::OutOfRange)), config.floor.into());
            prop_assert_eq!(fresh(config).step(Rpm::ZERO, speed), config.floor.into());
        }
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let good = AntiStallConfig {
            begin: Permille::new(100).unwrap(),
            full: Permille::new(300).unwrap(),
            floor: Permille::ZERO,
            recovery: Millis::millis(1_000),
        };
        let full = Permille::new(100).unwrap();
        let error = AntiStall::new(AntiStallConfig { full, ..good }, TICK).unwrap_err();
        assert_eq!(error, AntiStallConfigError::Full { begin: good.begin, full });
        assert_eq!(
            std::format!("{error}"),
            "floor at a droop of 100 ‰: set it above 100 ‰, where reduction begins, and up to 900 ‰"
        );
        let recovery = Millis::millis(30_001);
        let error = AntiStall::new(AntiStallConfig { recovery, ..good }, TICK).unwrap_err();
        assert_eq!(std::format!("{error}"), "recovery in 30001 ms: set 10 ms to 30000 ms");
    }

    four_verbs! {
        new: |config| AntiStall::new(config, TICK),
        configs: (AntiStallConfig { begin: Permille::new(50).unwrap(), full: Permille::new(200).unwrap(), floor: Permille::new(100).unwrap(), recovery: Millis::millis(1500) }, AntiStallConfig { begin: Permille::new(100).unwrap(), full: Permille::new(400).unwrap(), floor: Permille::new(300).unwrap(), recovery: Millis::millis(600) }),
        accepted: [
            AntiStallConfig { begin: Permille::new(10).unwrap(), full: Permille::new(11).unwrap(), floor: Permille::new(0).unwrap(), recovery: Millis::millis(10) },
            AntiStallConfig { begin: Permille::new(500).unwrap(), full: Permille::new(900).unwrap(), floor: Permille::new(900).unwrap(), recovery: Millis::millis(30000) },
        ],
        refused: [
            AntiStallConfig { begin: Permille::new(9).unwrap(), full: Permille::new(200).unwrap(), floor: Permille::new(0).unwrap(), recovery: Millis::millis(10) } => "reduction from a droop of 9 ‰: set 10 ‰ to 500 ‰",
            AntiStallConfig { begin: Permille::new(501).unwrap(), full: Permille::new(900).unwrap(), floor: Permille::new(0).unwrap(), recovery: Millis::millis(10) } => "reduction from a droop of 501 ‰: set 10 ‰ to 500 ‰",
            AntiStallConfig { begin: Permille::new(50).unwrap(), full: Permille::new(50).unwrap(), floor: Permille::new(0).unwrap(), recovery: Millis::millis(10) } => "floor at a droop of 50 ‰: set it above 50 ‰, where reduction begins, and up to 900 ‰",
            AntiStallConfig { begin: Permille::new(50).unwrap(), full: Permille::new(901).unwrap(), floor: Permille::new(0).unwrap(), recovery: Millis::millis(10) } => "floor at a droop of 901 ‰: set it above 50 ‰, where reduction begins, and up to 900 ‰",
            AntiStallConfig { begin: Permille::new(50).unwrap(), full: Permille::new(200).unwrap(), floor: Permille::new(-1).unwrap(), recovery: Millis::millis(10) } => "floor of -1 ‰: set 0 ‰ to 900 ‰",
            AntiStallConfig { begin: Permille::new(50).unwrap(), full: Permille::new(200).unwrap(), floor: Permille::new(901).unwrap(), recovery: Millis::millis(10) } => "floor of 901 ‰: set 0 ‰ to 900 ‰",
            AntiStallConfig { begin: Permille::new(50).unwrap(), full: Permille::new(200).unwrap(), floor: Permille::new(0).unwrap(), recovery: Millis::millis(9) } => "recovery in 9 ms: set 10 ms to 30000 ms",
            AntiStallConfig { begin: Permille::new(50).unwrap(), full: Permille::new(200).unwrap(), floor: Permille::new(0).unwrap(), recovery: Millis::millis(30001) } => "recovery in 30001 ms: set 10 ms to 30000 ms",
        ],
        inputs: speed(),
        step: |block, speed| (block.step(EXPECTED, speed), block.share()),
        reset: |block| block.reset(),
    }
}
