//! Less drive by a pedal, at any engine speed.

use core::fmt;

use crate::quantity::{Divisor, Permille, Ratio};
use crate::sense::Reading;

/// Pedal travel of an [`Inching`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct InchingConfig {
    /// Free travel of the pedal, 0 to 500 ‰.
    pub begin: Permille,
    /// From this travel on nothing drives, at least 100 ‰ more than `begin`: before the service brake takes hold.
    pub full: Permille,
}

/// Why an [`InchingConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum InchingConfigError {
    /// The free travel is outside 0 to 500 ‰.
    Begin(Permille),
    /// The full travel is not 100 ‰ above the free travel.
    Full {
        /// Free travel.
        begin: Permille,
        /// Travel at which nothing drives.
        full: Permille,
    },
}

impl fmt::Display for InchingConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Begin(given) => {
                write!(formatter, "free travel of the inching pedal of {} ‰: set 0 ‰ to 500 ‰", given.raw())
            }
            Self::Full { begin, full } => write!(
                formatter,
                "no drive from {} ‰ of the inching pedal: set it at least 100 ‰ above the free travel of {} ‰",
                full.raw(),
                begin.raw()
            ),
        }
    }
}

impl core::error::Error for InchingConfigError {}

/// Takes drive away as the inching pedal goes down, so that the engine can keep its speed for the work hydraulics.
///
/// A straight line from the whole command at `begin` to exactly nothing at `full`. A pedal without a valid reading counts as
/// fully down: the machine stops, by the ramps that follow. Rounds to nearest, ties away from zero; both directions alike.
///
#[doc = include_str!("../../docs/propel-inching.svg")]
///
/// ```
/// use trunnion::propel::{Inching, InchingConfig};
/// use trunnion::quantity::{Permille, Ratio};
/// use trunnion::sense::{Flaw, Reading};
///
/// let config = InchingConfig { begin: Permille::new(100).unwrap(), full: Permille::new(600).unwrap() };
/// let inching = Inching::new(config).unwrap();
/// let pedal = |permille| Reading::Valid(Ratio::from_permille(permille).unwrap());
///
/// assert_eq!(inching.step(Ratio::ONE, pedal(80)), Ratio::ONE);
/// assert_eq!(inching.step(Ratio::MINUS_ONE, pedal(350)).to_permille().raw(), -500);
/// assert_eq!(inching.step(Ratio::ONE, pedal(600)), Ratio::ZERO);
/// assert_eq!(inching.step(Ratio::ONE, Reading::Faulted(Flaw::WireBreak)), Ratio::ZERO);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Inching {
    begin: Ratio,
    travel: Divisor,
}

impl Inching {
    /// Refuses travels outside their range.
    ///
    /// # Errors
    ///
    /// [`InchingConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: InchingConfig) -> Result<Self, InchingConfigError> {
        let InchingConfig { begin, full } = config;
        if begin.raw() < 0 || begin.raw() > 500 {
            return Err(InchingConfigError::Begin(begin));
        }
        if full.raw() < begin.raw().saturating_add(100) {
            return Err(InchingConfigError::Full { begin, full });
        }
        let begin = Ratio::from_quotient(begin.raw() as i64, 1000);
        let full = Ratio::from_quotient(full.raw() as i64, 1000);
        Ok(Self { begin, travel: Divisor::of(full.minus(begin).to_bits().unsigned_abs()) })
    }

    /// Another pedal travel.
    ///
    /// # Errors
    ///
    /// [`InchingConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: InchingConfig) -> Result<(), InchingConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The drive that remains; `pedal` is 0 released and 1 fully down, below 0 counts as released.
    pub const fn step(&self, drive: Ratio, pedal: Reading<Ratio>) -> Ratio {
        drive.times(self.share(pedal))
    }

    /// The share of the drive that remains, 0 to 1.
    pub const fn share(&self, pedal: Reading<Ratio>) -> Ratio {
        let pressed = pedal.or(Ratio::ONE).minus(self.begin).at_least(Ratio::ZERO);
        Ratio::ONE.minus(self.travel.share(pressed))
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

    fn config() -> impl Strategy<Value = InchingConfig> {
        (0_i16..=500, 100_i16..=500).prop_map(|(begin, travel)| InchingConfig {
            begin: Permille::new(begin).unwrap(),
            full: Permille::new(begin + travel).unwrap(),
        })
    }

    proptest! {
        #[test]
        fn free_travel_takes_nothing_and_full_travel_all(config in config(), drive in ratio(), pedal in ratio()) {
            let given = Inching::new(config).unwrap().step(drive, Reading::Valid(pedal));
            prop_assert!(pedal > config.begin.into() || given == drive);
            prop_assert!(pedal < config.full.into() || given == Ratio::ZERO);
            prop_assert!(given.magnitude() <= drive.magnitude() && !given.opposite_direction(drive));
        }

        #[test]
        fn a_lower_pedal_never_drives_more_and_both_directions_are_alike(
            config in config(), drive in ratio(), one in ratio(), other in ratio()
        ) {
            let inching = Inching::new(config).unwrap();
            let at = |pedal| inching.step(drive, Reading::Valid(pedal)).magnitude();
            prop_assert!(at(one.at_least(other)) <= at(one.at_most(other)));
            let reversed = inching.step(drive.reversed(), Reading::Valid(one));
            prop_assert_eq!(reversed, inching.step(drive, Reading::Valid(one)).reversed());
        }

        #[test]
        fn a_pedal_without_a_reading_stops_the_drive(config in config(), drive in ratio()) {
            let inching = Inching::new(config).unwrap();
            prop_assert_eq!(inching.step(drive, Reading::Faulted(Flaw::ShortCircuit)), Ratio::ZERO);
        }
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let permille = |raw| Permille::new(raw).unwrap();
        let error = Inching::new(InchingConfig { begin: permille(501), full: permille(900) }).unwrap_err();
        assert_eq!(std::format!("{error}"), "free travel of the inching pedal of 501 ‰: set 0 ‰ to 500 ‰");
        let error = Inching::new(InchingConfig { begin: permille(100), full: permille(199) }).unwrap_err();
        assert_eq!(
            std::format!("{error}"),
            "no drive from 199 ‰ of the inching pedal: set it at least 100 ‰ above the free travel of 100 ‰"
        );
    }

    four_verbs! {
        new: Inching::new,
        configs: (InchingConfig { begin: Permille::new(100).unwrap(), full: Permille::new(900).unwrap() }, InchingConfig { begin: Permille::new(50).unwrap(), full: Permille::new(600).unwrap() }),
        accepted: [
            InchingConfig { begin: Permille::new(0).unwrap(), full: Permille::new(100).unwrap() },
            InchingConfig { begin: Permille::new(500).unwrap(), full: Permille::new(1000).unwrap() },
        ],
        refused: [
            InchingConfig { begin: Permille::new(-1).unwrap(), full: Permille::new(900).unwrap() } => "free travel of the inching pedal of -1 ‰: set 0 ‰ to 500 ‰",
            InchingConfig { begin: Permille::new(501).unwrap(), full: Permille::new(900).unwrap() } => "free travel of the inching pedal of 501 ‰: set 0 ‰ to 500 ‰",
            InchingConfig { begin: Permille::new(100).unwrap(), full: Permille::new(199).unwrap() } => "no drive from 199 ‰ of the inching pedal: set it at least 100 ‰ above the free travel of 100 ‰",
        ],
        inputs: (ratio(), ratio()),
        step: |block, (drive, pedal)| block.step(drive, Reading::Valid(pedal)),
    }
}
