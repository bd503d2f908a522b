//! Less steer at speed.

use core::fmt;

use super::speed_share::SpeedShare;
use crate::quantity::{Permille, Ratio, Rpm};
use crate::sense::Reading;

/// Corners of a [`SteerAuthority`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SteerAuthorityConfig {
    /// Up to this speed of the drive motors all of the steer acts, 0 rpm or more.
    pub slow: Rpm,
    /// From this speed on only the floor acts, above `slow`.
    pub fast: Rpm,
    /// What always remains, 50 to 1000 ‰: the machine stays steerable.
    pub floor: Permille,
}

/// Why a [`SteerAuthorityConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SteerAuthorityConfigError {
    /// The slow speed is below zero.
    Slow(Rpm),
    /// The fast speed is not above the slow one.
    Fast {
        /// Slow speed.
        slow: Rpm,
        /// Fast speed.
        fast: Rpm,
    },
    /// The floor is outside 50 to 1000 ‰.
    Floor(Permille),
}

impl fmt::Display for SteerAuthorityConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Slow(given) => {
                write!(formatter, "full steer up to {}/8 rpm: set 0 rpm or more", given.raw())
            }
            Self::Fast { slow, fast } => write!(
                formatter,
                "least steer from {}/8 rpm: set it above {}/8 rpm, where steer begins to fall",
                fast.raw(),
                slow.raw()
            ),
            Self::Floor(given) => write!(formatter, "least steer of {} ‰: set 50 ‰ to 1000 ‰", given.raw()),
        }
    }
}

impl core::error::Error for SteerAuthorityConfigError {}

/// Lets the steer act less the faster the machine travels, so that a jerk of the lever does not throw it round.
///
/// All of the steer up to `slow`, a straight line from there to `floor` at `fast`; both ways of travel and of
/// steer alike. Without a valid speed only the floor acts: the machine may be fast. Continuous in speed and
/// steer; rounds to nearest, ties away from zero.
///
#[doc = include_str!("../../docs/propel-steer_authority.svg")]
///
/// ```
/// use trunnion::propel::{SteerAuthority, SteerAuthorityConfig};
/// use trunnion::quantity::{Permille, Ratio, Rpm};
/// use trunnion::sense::Reading;
///
/// let authority = SteerAuthority::new(SteerAuthorityConfig {
///     slow: Rpm::from_whole(50),
///     fast: Rpm::from_whole(250),
///     floor: Permille::new(400).unwrap(),
/// })
/// .unwrap();
/// let at = |rpm| authority.step(Ratio::ONE, Reading::Valid(Rpm::from_whole(rpm))).to_permille().raw();
/// assert_eq!((at(40), at(-150), at(300)), (1_000, 700, 400));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct SteerAuthority {
    slow: Rpm,
    width: SpeedShare,
    taken_at_most: Ratio,
}

impl SteerAuthority {
    /// Refuses corners and a floor outside their range.
    ///
    /// # Errors
    ///
    /// [`SteerAuthorityConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: SteerAuthorityConfig) -> Result<Self, SteerAuthorityConfigError> {
        let SteerAuthorityConfig { slow, fast, floor } = config;
        if slow.raw() < 0 {
            return Err(SteerAuthorityConfigError::Slow(slow));
        }
        if fast.raw() <= slow.raw() {
            return Err(SteerAuthorityConfigError::Fast { slow, fast });
        }
        if floor.raw() < 50 {
            return Err(SteerAuthorityConfigError::Floor(floor));
        }
        let floor = Ratio::from_quotient(floor.raw() as i64, 1000);
        Ok(Self { slow, width: SpeedShare::of(fast.minus(slow)), taken_at_most: Ratio::ONE.minus(floor) })
    }

    /// Other corners.
    ///
    /// # Errors
    ///
    /// [`SteerAuthorityConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: SteerAuthorityConfig) -> Result<(), SteerAuthorityConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The steer that acts at a speed of travel.
    pub const fn step(&self, steer: Ratio, speed: Reading<Rpm>) -> Ratio {
        let speed = speed.or(Rpm::MAX).magnitude();
        let above = speed.minus(self.slow).at_least(Rpm::ZERO);
        let taken = self.taken_at_most.times(self.width.at(above));
        steer.times(Ratio::ONE.minus(taken))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;

    fn ratio() -> impl Strategy<Value = Ratio> {
        (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    fn speed() -> impl Strategy<Value = Rpm> {
        prop_oneof![-524_288..=524_287, -8_000..=8_000].prop_map(|raw| Rpm::new(raw).unwrap())
    }

    fn config() -> impl Strategy<Value = SteerAuthorityConfig> {
        (0..4_000, 1..4_000, 50_i16..=1000).prop_map(|(slow, width, floor)| SteerAuthorityConfig {
            slow: Rpm::new(slow).unwrap(),
            fast: Rpm::new(slow + width).unwrap(),
            floor: Permille::new(floor).unwrap(),
        })
    }

    proptest! {
        #[test]
        fn the_steer_stays_between_its_floor_and_itself(config in config(), steer in ratio(), speed in speed()) {
            let given = SteerAuthority::new(config).unwrap().step(steer, Reading::Valid(speed));
            prop_assert!(given.magnitude() <= steer.magnitude() && !given.opposite_direction(steer));
            let least = steer.times(config.floor.into());
            prop_assert!(given.magnitude() >= least.magnitude());
            prop_assert!(speed.magnitude() > config.slow || given == steer);
            prop_assert!(speed.magnitude() < config.fast || given == least);
        }

        #[test]
        fn more_speed_never_steers_more_and_all_directions_are_alike(
            config in config(), steer in ratio(), one in speed(), other in speed()
        ) {
            let authority = SteerAuthority::new(config).unwrap();
            let at = |steer, speed| authority.step(steer, Reading::Valid(speed));
            let (slower, faster) = (one.magnitude().at_most(other.magnitude()), one.magnitude().at_least(other.magnitude()));
            prop_assert!(at(steer, faster).magnitude() <= at(steer, slower).magnitude());
            prop_assert_eq!(at(steer.reversed(), one), at(steer, one).reversed());
            prop_assert_eq!(at(steer, Rpm::ZERO.minus(slower)), at(steer, slower));
        }

        #[test]
        fn without_a_speed_only_the_floor_acts(config in config(), steer in ratio()) {
            let given = SteerAuthority::new(config).unwrap().step(steer, Reading::Faulted(Flaw::Silent));
            prop_assert_eq!(given, steer.times(config.floor.into()));
        }
    }

    #[test]
    fn values_outside_their_range_are_refused_with_what_to_do() {
        let good = SteerAuthorityConfig { slow: Rpm::ZERO, fast: Rpm::from_whole(1), floor: Permille::MAX };
        for (config, message) in [
            (
                SteerAuthorityConfig { slow: Rpm::new(-1).unwrap(), ..good },
                "full steer up to -1/8 rpm: set 0 rpm or more",
            ),
            (
                SteerAuthorityConfig { fast: Rpm::ZERO, ..good },
                "least steer from 0/8 rpm: set it above 0/8 rpm, where steer begins to fall",
            ),
            (
                SteerAuthorityConfig { floor: Permille::new(49).unwrap(), ..good },
                "least steer of 49 ‰: set 50 ‰ to 1000 ‰",
            ),
        ] {
            assert_eq!(std::format!("{}", SteerAuthority::new(config).unwrap_err()), message);
        }
    }

    four_verbs! {
        new: SteerAuthority::new,
        configs: (SteerAuthorityConfig { slow: Rpm::new(400).unwrap(), fast: Rpm::new(4000).unwrap(), floor: Permille::new(300).unwrap() }, SteerAuthorityConfig { slow: Rpm::new(800).unwrap(), fast: Rpm::new(6000).unwrap(), floor: Permille::new(600).unwrap() }),
        accepted: [
            SteerAuthorityConfig { slow: Rpm::new(0).unwrap(), fast: Rpm::new(1).unwrap(), floor: Permille::new(50).unwrap() },
            SteerAuthorityConfig { slow: Rpm::new(0).unwrap(), fast: Rpm::new(1).unwrap(), floor: Permille::new(1000).unwrap() },
        ],
        refused: [
            SteerAuthorityConfig { slow: Rpm::new(-1).unwrap(), fast: Rpm::new(9).unwrap(), floor: Permille::new(50).unwrap() } => "full steer up to -1/8 rpm: set 0 rpm or more",
            SteerAuthorityConfig { slow: Rpm::new(9).unwrap(), fast: Rpm::new(9).unwrap(), floor: Permille::new(50).unwrap() } => "least steer from 9/8 rpm: set it above 9/8 rpm, where steer begins to fall",
            SteerAuthorityConfig { slow: Rpm::new(0).unwrap(), fast: Rpm::new(9).unwrap(), floor: Permille::new(49).unwrap() } => "least steer of 49 ‰: set 50 ‰ to 1000 ‰",
        ],
        inputs: (ratio(), speed()),
        step: |block, (steer, speed)| block.step(steer, Reading::Valid(speed)),
    }
}
