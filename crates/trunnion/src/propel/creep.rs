//! A slow range for planting, milling and sweeping.

use core::fmt;

use crate::quantity::{Permille, Ratio};

/// Range of a [`Creep`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CreepConfig {
    /// Slowest share of the drive, 10 to 1000 ‰.
    pub slowest: Permille,
    /// Fastest share, at least the slowest.
    pub fastest: Permille,
    /// Share after power-up, between both.
    pub first: Permille,
    /// What one press of a button changes, 1 to 500 ‰.
    pub increment: Permille,
}

/// Why a [`CreepConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CreepConfigError {
    /// The slowest share is outside 10 to 1000 ‰.
    Slowest(Permille),
    /// The fastest share is below the slowest.
    Fastest {
        /// Slowest share.
        slowest: Permille,
        /// Fastest share.
        fastest: Permille,
    },
    /// The first share is not between both.
    First(Permille),
    /// The increment is outside 1 to 500 ‰.
    Increment(Permille),
}

impl fmt::Display for CreepConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Slowest(given) => {
                write!(formatter, "slowest creep of {} ‰: set 10 ‰ to 1000 ‰", given.raw())
            }
            Self::Fastest { slowest, fastest } => {
                write!(
                    formatter,
                    "fastest creep of {} ‰: set the slowest, {} ‰, or more",
                    fastest.raw(),
                    slowest.raw()
                )
            }
            Self::First(given) => {
                write!(
                    formatter,
                    "creep of {} ‰ at power-up: set it between the slowest and the fastest",
                    given.raw()
                )
            }
            Self::Increment(given) => {
                write!(formatter, "creep changes by {} ‰ a press: set 1 ‰ to 500 ‰", given.raw())
            }
        }
    }
}

impl core::error::Error for CreepConfigError {}

/// What a [`Creep`] looks at. The presses are rising edges.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CreepInputs {
    /// What the lever asks for.
    pub drive: Ratio,
    /// Creep was pressed: on, or off again.
    pub toggle: bool,
    /// Faster was pressed.
    pub faster: bool,
    /// Slower was pressed.
    pub slower: bool,
}

/// Spreads the whole travel of the lever over a small share of the speed, which two buttons set.
///
/// On by a press with the lever anywhere: it only makes the machine slower. Off by a press only with the lever at zero, so that
/// a machine at full lever does not leap forward; a press at any other time is dropped. The share stays within
/// its range, is kept while creep is off, and both buttons at once change nothing. Rounds to nearest, ties away
/// from zero. The ramps belong behind it.
///
#[doc = include_str!("../../docs/propel-creep.svg")]
///
/// ```
/// use trunnion::propel::{Creep, CreepConfig, CreepInputs};
/// use trunnion::quantity::{Permille, Ratio};
///
/// let permille = |raw| Permille::new(raw).unwrap();
/// let config = CreepConfig {
///     slowest: permille(50),
///     fastest: permille(400),
///     first: permille(200),
///     increment: permille(20),
/// };
/// let mut creep = Creep::new(config).unwrap();
/// let full = CreepInputs { drive: Ratio::ONE, ..Default::default() };
///
/// assert_eq!(creep.step(full), Ratio::ONE);
/// assert_eq!(creep.step(CreepInputs { toggle: true, ..full }).to_permille().raw(), 200);
/// assert_eq!(creep.step(CreepInputs { faster: true, ..full }).to_permille().raw(), 220);
/// assert_eq!(creep.step(CreepInputs { toggle: true, ..full }).to_permille().raw(), 220); // not at full lever
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Creep {
    config: CreepConfig,
    share: Permille,
    on: bool,
}

impl Creep {
    /// Off. Refuses a range that is none.
    ///
    /// # Errors
    ///
    /// [`CreepConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: CreepConfig) -> Result<Self, CreepConfigError> {
        let CreepConfig { slowest, fastest, first, increment } = config;
        if slowest.raw() < 10 {
            return Err(CreepConfigError::Slowest(slowest));
        }
        if fastest.raw() < slowest.raw() {
            return Err(CreepConfigError::Fastest { slowest, fastest });
        }
        if first.raw() < slowest.raw() || first.raw() > fastest.raw() {
            return Err(CreepConfigError::First(first));
        }
        if increment.raw() < 1 || increment.raw() > 500 {
            return Err(CreepConfigError::Increment(increment));
        }
        Ok(Self { config, share: first, on: false })
    }

    /// Another range; on or off stays, and the share is brought into it.
    ///
    /// # Errors
    ///
    /// [`CreepConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: CreepConfig) -> Result<(), CreepConfigError> {
        let share = self.share.at_least(config.slowest).at_most(config.fastest);
        *self = Self { share, on: self.on, ..Self::new(config)? };
        Ok(())
    }

    /// Off, with the share of power-up.
    pub fn reset(&mut self) {
        self.share = self.config.first;
        self.on = false;
    }

    /// One step: the drive.
    pub fn step(&mut self, inputs: CreepInputs) -> Ratio {
        if inputs.toggle && (!self.on || inputs.drive.is_zero()) {
            self.on = !self.on;
        }
        if self.on {
            let CreepConfig { slowest, fastest, increment, .. } = self.config;
            self.share = match (inputs.faster, inputs.slower) {
                (true, false) => self.share.plus(increment).at_most(fastest),
                (false, true) => self.share.minus(increment).at_least(slowest),
                _ => self.share,
            };
            inputs.drive.times(self.share.into())
        } else {
            inputs.drive
        }
    }

    /// True while creep is on.
    pub const fn is_on(&self) -> bool {
        self.on
    }

    /// The share that is set, also while creep is off.
    pub const fn share(&self) -> Permille {
        self.share
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn permille(raw: i16) -> Permille {
        Permille::new(raw).unwrap()
    }

    fn config() -> CreepConfig {
        CreepConfig {
            slowest: permille(50),
            fastest: permille(400),
            first: permille(200),
            increment: permille(30),
        }
    }

    fn inputs() -> impl Strategy<Value = CreepInputs> {
        let drive = prop_oneof![Just(0), -Ratio::ONE_BITS..=Ratio::ONE_BITS];
        (drive, any::<(bool, bool, bool)>()).prop_map(|(drive, (toggle, faster, slower))| CreepInputs {
            drive: Ratio::from_bits(drive).unwrap(),
            toggle,
            faster,
            slower,
        })
    }

    proptest! {
        #[test]
        fn the_drive_is_the_levers_or_the_share_of_it_and_never_leaps(stream in proptest::collection::vec(inputs(), 1..100)) {
            let mut creep = Creep::new(config()).unwrap();
            for inputs in stream {
                let (was_on, before) = (creep.is_on(), creep.share());
                let given = creep.step(inputs);
                prop_assert!(creep.share() >= permille(50) && creep.share() <= permille(400));
                prop_assert!(creep.share().distance(before) <= permille(30));
                prop_assert_eq!(given, if creep.is_on() { inputs.drive.times(creep.share().into()) } else { inputs.drive });
                // It leaves creep only with nothing asked for.
                prop_assert!(!was_on || creep.is_on() || given.is_zero());
                prop_assert!(inputs.toggle || was_on == creep.is_on());
            }
        }
    }

    #[test]
    fn both_buttons_work_and_another_range_leaves_creep_on() {
        let mut creep = Creep::new(config()).unwrap();
        let nothing = CreepInputs::default();
        creep.step(CreepInputs { toggle: true, ..nothing });
        creep.step(CreepInputs { faster: true, ..nothing });
        assert_eq!(creep.share(), permille(230));
        creep.step(CreepInputs { slower: true, ..nothing });
        creep.step(CreepInputs { slower: true, ..nothing });
        assert_eq!(creep.share(), permille(170));
        creep.reconfigure(CreepConfig { fastest: permille(300), ..config() }).unwrap();
        assert!(creep.is_on());
    }

    #[test]
    fn the_share_survives_creep_off_and_a_new_range_holds_it() {
        let mut creep = Creep::new(config()).unwrap();
        let nothing = CreepInputs::default();
        creep.step(CreepInputs { toggle: true, ..nothing });
        creep.step(CreepInputs { slower: true, ..nothing });
        creep.step(CreepInputs { toggle: true, ..nothing });
        creep.step(CreepInputs { faster: true, ..nothing });
        assert_eq!((creep.is_on(), creep.share()), (false, permille(170)));
        creep.reconfigure(CreepConfig { slowest: permille(180), ..config() }).unwrap();
        assert_eq!(creep.share(), permille(180));
        creep.reset();
        assert_eq!(creep.share(), permille(200));
    }

    #[test]
    fn values_outside_their_range_are_refused_with_what_to_do_and_change_nothing() {
        let mut creep = Creep::new(config()).unwrap();
        for (bad, message) in [
            (CreepConfig { slowest: permille(9), ..config() }, "slowest creep of 9 ‰: set 10 ‰ to 1000 ‰"),
            (
                CreepConfig { fastest: permille(49), ..config() },
                "fastest creep of 49 ‰: set the slowest, 50 ‰, or more",
            ),
            (
                CreepConfig { first: permille(401), ..config() },
                "creep of 401 ‰ at power-up: set it between the slowest and the fastest",
            ),
            (
                CreepConfig { increment: permille(0), ..config() },
                "creep changes by 0 ‰ a press: set 1 ‰ to 500 ‰",
            ),
        ] {
            assert_eq!(std::format!("{}", creep.reconfigure(bad).unwrap_err()), message);
            assert_eq!(creep.config, config());
        }
    }
}
