//! Two contacts of one switch, so that a broken wire is seen.

use super::{Flaw, Reading};
use crate::quantity::{Millis, Period};

/// Time of a [`DualContact`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct DualContactConfig {
    /// How long both contacts may say the same, as they do while the switch moves, 0 to 10 s.
    pub disagree_after: Millis,
}

/// Time of a [`Changeover`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ChangeoverConfig {
    /// How long both contacts may say the same, as they do while the rocker moves, 0 to 10 s.
    pub disagree_after: Millis,
}

/// Why a [`DualContactConfig`] or a [`ChangeoverConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ContactPairConfigError {
    /// `disagree_after` is too long.
    DisagreeAfterTooLong {
        /// What was asked for.
        value: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
}

impl core::fmt::Display for ContactPairConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Self::DisagreeAfterTooLong { value, longest } = self;
        write!(formatter, "disagree_after is {value}; it must be at most {longest}")
    }
}

impl core::error::Error for ContactPairConfigError {}

/// Exactly one of two contacts is closed, except for a moment while the switch moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct ContactPair {
    disagree_steps: u32,
    period: Period,
    /// What both last agreed on; nothing until they did.
    agreed: Option<bool>,
    /// Steps since they first contradicted each other.
    waited: u32,
}

impl ContactPair {
    const LONGEST: Millis = Millis::from_ticks(10_000);

    const fn new(disagree_after: Millis, period: Period) -> Result<Self, ContactPairConfigError> {
        match Self::steps(disagree_after, period) {
            Ok(disagree_steps) => Ok(Self { disagree_steps, period, agreed: None, waited: 0 }),
            Err(error) => Err(error),
        }
    }

    const fn steps(value: Millis, period: Period) -> Result<u32, ContactPairConfigError> {
        if value.ticks() > Self::LONGEST.ticks() {
            return Err(ContactPairConfigError::DisagreeAfterTooLong { value, longest: Self::LONGEST });
        }
        Ok(period.steps(value))
    }

    fn reset(&mut self) {
        self.agreed = None;
        self.waited = 0;
    }

    fn step(&mut self, when_false: bool, when_true: bool) -> Reading<bool> {
        if when_false != when_true {
            self.agreed = Some(when_true);
            self.waited = 0;
            return Reading::Valid(when_true);
        }
        if self.waited >= self.disagree_steps {
            self.agreed = None;
        } else {
            self.waited = self.waited.saturating_add(1);
        }
        match self.agreed {
            Some(level) => Reading::Valid(level),
            None => Reading::Faulted(Flaw::Disagreement),
        }
    }
}

/// A switch with a make and a break contact: emergency stop, restraint bar, seat.
///
/// While both contacts say the same, the last agreed position holds for `disagree_after`; then the reading
/// is faulted until they agree again. Before they first agreed it is faulted too: nothing is assumed. Which
/// position is safe is the caller's to say, by [`Reading::or`].
///
#[doc = include_str!("../../docs/sense-dual_contact.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::sense::{DualContact, DualContactConfig, Flaw, Reading};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let config = DualContactConfig { disagree_after: Millis::millis(100) };
/// let mut emergency_stop = DualContact::new(config, tick).unwrap();
/// assert_eq!(emergency_stop.step(false, true), Reading::Valid(false));
/// assert_eq!(emergency_stop.step(true, false), Reading::Valid(true));
/// for _ in 0..10 {
///     emergency_stop.step(false, false); // the make contact's wire breaks
/// }
/// let pressed = emergency_stop.step(false, false);
/// assert_eq!(pressed, Reading::Faulted(Flaw::Disagreement));
/// assert!(pressed.or(true), "without a reading it counts as pressed");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct DualContact {
    pair: ContactPair,
}

impl DualContact {
    /// Refuses a time above 10 s.
    ///
    /// # Errors
    ///
    /// [`ContactPairConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: DualContactConfig, period: Period) -> Result<Self, ContactPairConfigError> {
        match ContactPair::new(config.disagree_after, period) {
            Ok(pair) => Ok(Self { pair }),
            Err(error) => Err(error),
        }
    }

    /// Takes a new time or refuses it; position and time waited are kept.
    ///
    /// # Errors
    ///
    /// [`ContactPairConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: DualContactConfig) -> Result<(), ContactPairConfigError> {
        self.pair.disagree_steps = ContactPair::steps(config.disagree_after, self.pair.period)?;
        Ok(())
    }

    /// Forgets the position.
    pub fn reset(&mut self) {
        self.pair.reset();
    }

    /// One step; `true` is pressed: make contact closed, break contact open.
    pub fn step(&mut self, normally_open: bool, normally_closed: bool) -> Reading<bool> {
        self.pair.step(normally_closed, normally_open)
    }
}

/// A rocker with two positions and a contact for each, of which exactly one is closed.
///
/// Disagreement is treated as by [`DualContact`]: the last position holds for `disagree_after`, then, and
/// before the first agreement, the reading is faulted.
///
#[doc = include_str!("../../docs/sense-changeover.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::sense::{Changeover, ChangeoverConfig, Reading};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let config = ChangeoverConfig { disagree_after: Millis::millis(200) };
/// let mut pattern_rocker = Changeover::new(config, tick).unwrap();
/// assert!(!pattern_rocker.step(false, false).is_valid(), "not plugged in");
/// assert_eq!(pattern_rocker.step(false, true), Reading::Valid(true));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Changeover {
    pair: ContactPair,
}

impl Changeover {
    /// Refuses a time above 10 s.
    ///
    /// # Errors
    ///
    /// [`ContactPairConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: ChangeoverConfig, period: Period) -> Result<Self, ContactPairConfigError> {
        match ContactPair::new(config.disagree_after, period) {
            Ok(pair) => Ok(Self { pair }),
            Err(error) => Err(error),
        }
    }

    /// Takes a new time or refuses it; position and time waited are kept.
    ///
    /// # Errors
    ///
    /// [`ContactPairConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: ChangeoverConfig) -> Result<(), ContactPairConfigError> {
        self.pair.disagree_steps = ContactPair::steps(config.disagree_after, self.pair.period)?;
        Ok(())
    }

    /// Forgets the position.
    pub fn reset(&mut self) {
        self.pair.reset();
    }

    /// One step; `false` is position a, `true` position b.
    pub fn step(&mut self, a: bool, b: bool) -> Reading<bool> {
        self.pair.step(a, b)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn dual(disagree_after: u32) -> DualContact {
        DualContact::new(DualContactConfig { disagree_after: Millis::millis(disagree_after) }, TICK).unwrap()
    }

    #[test]
    fn nothing_is_assumed_before_the_contacts_first_agreed() {
        let mut bar = dual(100);
        assert_eq!(bar.step(false, false), Reading::Faulted(Flaw::Disagreement));
        assert_eq!(bar.step(true, true), Reading::Faulted(Flaw::Disagreement));
        assert_eq!(bar.step(true, false), Reading::Valid(true));
        bar.reset();
        assert_eq!(bar.step(false, false), Reading::Faulted(Flaw::Disagreement));
    }

    #[test]
    fn a_time_above_ten_seconds_is_refused_and_changes_nothing() {
        let mut rocker =
            Changeover::new(ChangeoverConfig { disagree_after: Millis::millis(50) }, TICK).unwrap();
        let error =
            rocker.reconfigure(ChangeoverConfig { disagree_after: Millis::millis(10_001) }).unwrap_err();
        assert_eq!(error.to_string(), "disagree_after is 10001 ms; it must be at most 10000 ms");
        assert_eq!(rocker.pair.disagree_steps, 5);
        assert!(dual(0).reconfigure(DualContactConfig { disagree_after: Millis::millis(10_000) }).is_ok());
    }

    proptest! {
        #[test]
        fn a_disagreement_is_bridged_for_its_time_and_then_told(
            time in 0_u32..6, contacts in proptest::collection::vec(any::<(bool, bool)>(), 0..100)
        ) {
            let mut bar = dual(time * 10);
            let mut rocker = Changeover::new(ChangeoverConfig { disagree_after: Millis::millis(time * 10) }, TICK).unwrap();
            let mut agreed = None;
            let mut contrary = 0;
            for (a, b) in contacts {
                if a != b {
                    agreed = Some(b);
                    contrary = 0;
                } else {
                    contrary += 1;
                    if contrary > time {
                        agreed = None;
                    }
                }
                let expected = agreed.map_or(Reading::Faulted(Flaw::Disagreement), Reading::Valid);
                prop_assert_eq!(rocker.step(a, b), expected);
                prop_assert_eq!(bar.step(b, a), expected, "make contact closed, break contact open is pressed");
            }
        }
    }

    mod dual_contact {
        use super::*;

        four_verbs! {
            new: |config| DualContact::new(config, TICK),
            configs: (DualContactConfig { disagree_after: Millis::millis(100) }, DualContactConfig { disagree_after: Millis::millis(160) }),
            accepted: [
                DualContactConfig { disagree_after: Millis::millis(0) },
                DualContactConfig { disagree_after: Millis::millis(10000) },
            ],
            refused: [
                DualContactConfig { disagree_after: Millis::millis(10001) } => "disagree_after is 10001 ms; it must be at most 10000 ms",
            ],
            inputs: (any::<bool>(), any::<bool>()),
            step: |block, (open, closed)| block.step(open, closed),
            reset: |block| block.reset(),
        }
    }

    mod changeover {
        use super::*;

        four_verbs! {
            new: |config| Changeover::new(config, TICK),
            configs: (ChangeoverConfig { disagree_after: Millis::millis(100) }, ChangeoverConfig { disagree_after: Millis::millis(160) }),
            accepted: [
                ChangeoverConfig { disagree_after: Millis::millis(0) },
                ChangeoverConfig { disagree_after: Millis::millis(10000) },
            ],
            refused: [
                ChangeoverConfig { disagree_after: Millis::millis(10001) } => "disagree_after is 10001 ms; it must be at most 10000 ms",
            ],
            inputs: (any::<bool>(), any::<bool>()),
            step: |block, (a, b)| block.step(a, b),
            reset: |block| block.reset(),
        }
    }
}
