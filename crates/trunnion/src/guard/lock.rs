//! The operator's own lock: hydraulics off for the road, for a break, for somebody at the bucket.

use core::fmt;

use crate::quantity::{Millis, Period};
use crate::sense::Reading;

crate::choices! {
    /// What a [`Lock`] makes of a switch that already stands at "unlocked" when it is first seen.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum LockStart {
        /// It must be seen at "locked" first: nobody asked for anything yet.
        MustCycle = "must_cycle",
        /// It counts as it stands. Then something else must ask the operator, as a neutral start does.
        AsFound = "as_found",
    }
}

/// Rules of a [`Lock`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LockConfig {
    /// How long the levers must be neutral before it opens, 0 to 5 s.
    pub hold: Millis,
    /// What a switch counts for that is found at "unlocked".
    pub start: LockStart,
}

/// Why a [`LockConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum LockConfigError {
    /// The hold time is above 5 s.
    Hold(Millis),
}

impl fmt::Display for LockConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Hold(given) = self;
        write!(formatter, "levers neutral for {given}: set 0 ms to {}", Lock::LONGEST_HOLD)
    }
}

impl core::error::Error for LockConfigError {}

crate::choices! {
    /// Whether a [`Lock`] is open, and what it waits for.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum LockState {
        /// The switch says so, or cannot be read.
        Locked = "locked",
        /// The switch says "unlocked", but nobody was seen to move it there: lock it, then unlock it.
        MustCycle = "must_cycle",
        /// A lever is held over, or was a moment ago.
        NotNeutral = "levers_not_neutral",
        /// Open.
        Unlocked = "unlocked",
    }
}

/// Locks a drive or the work functions out by a switch of the operator's.
///
/// - Locking is immediate and needs nothing.
/// - Unlocking needs the switch to be moved there and the levers neutral for the hold time, so that a lever that leans on
///   a coat moves nothing. The time counts from the first step that sees both.
/// - A switch without a valid reading locks, and has to be seen at "locked" before it unlocks again, whatever the start
///   rule: a wire that comes back is no intention.
///
/// How the locked functions come to rest is the machine's: a lock is a reason for a controlled stop.
///
#[doc = include_str!("../../docs/guard-lock.svg")]
///
/// ```
/// use trunnion::guard::{Lock, LockConfig, LockStart, LockState};
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::sense::Reading::Valid;
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = LockConfig { hold: Millis::millis(20), start: LockStart::MustCycle };
/// let mut work_lock = Lock::new(config, TICK).unwrap();
/// let (locked, unlocked, neutral) = (Valid(false), Valid(true), true);
///
/// assert_eq!(work_lock.step(unlocked, neutral), LockState::MustCycle); // since the key was turned
/// assert_eq!(work_lock.step(locked, neutral), LockState::Locked);
/// assert_eq!(work_lock.step(unlocked, !neutral), LockState::NotNeutral);
/// let states = [(); 3].map(|()| work_lock.step(unlocked, neutral));
/// assert_eq!(states, [LockState::NotNeutral, LockState::NotNeutral, LockState::Unlocked]);
/// assert_eq!(work_lock.step(locked, !neutral), LockState::Locked);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Lock {
    hold: u32,
    start: LockStart,
    period: Period,
    state: LockState,
    /// The switch was seen at "locked", so that its way to "unlocked" is an intention.
    intended: bool,
    neutral_for: u32,
}

impl Lock {
    /// Longest time that levers must be neutral.
    pub const LONGEST_HOLD: Millis = Millis::millis(5_000);

    /// Locked. Refuses a hold time above 5 s.
    ///
    /// # Errors
    ///
    /// [`LockConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: LockConfig, period: Period) -> Result<Self, LockConfigError> {
        if config.hold.ticks() > Self::LONGEST_HOLD.ticks() {
            return Err(LockConfigError::Hold(config.hold));
        }
        Ok(Self {
            hold: period.steps(config.hold),
            start: config.start,
            period,
            state: LockState::Locked,
            intended: matches!(config.start, LockStart::AsFound),
            neutral_for: 0,
        })
    }

    /// Other rules; what is open stays open, and the start rule acts from the next `reset` on.
    ///
    /// # Errors
    ///
    /// [`LockConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: LockConfig) -> Result<(), LockConfigError> {
        let Self { hold, start, .. } = Self::new(config, self.period)?;
        *self = Self { hold, start, ..*self };
        Ok(())
    }

    /// Locked, as at the start.
    pub fn reset(&mut self) {
        self.state = LockState::Locked;
        self.intended = self.start == LockStart::AsFound;
        self.neutral_for = 0;
    }

    /// One period: `unlock` is true where the switch stands at "unlocked", `neutral` while the levers are released.
    pub fn step(&mut self, unlock: Reading<bool>, neutral: bool) -> LockState {
        let asked = unlock.or(false);
        if !asked {
            self.intended = unlock.is_valid();
            self.state = LockState::Locked;
        }
        if !asked || !neutral {
            self.neutral_for = 0;
        }
        if asked && self.state != LockState::Unlocked {
            self.state = if !self.intended {
                LockState::MustCycle
            } else if neutral && self.neutral_for >= self.hold {
                LockState::Unlocked
            } else {
                LockState::NotNeutral
            };
            if neutral {
                self.neutral_for = self.neutral_for.saturating_add(1);
            }
        }
        self.state
    }

    /// What the last step gave.
    pub const fn state(&self) -> LockState {
        self.state
    }

    /// True while it is open.
    pub const fn is_unlocked(&self) -> bool {
        matches!(self.state, LockState::Unlocked)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const LOST: Reading<bool> = Reading::Faulted(Flaw::WireBreak);

    fn lock(hold: u32, start: LockStart) -> Lock {
        Lock::new(LockConfig { hold: Millis::millis(hold), start }, TICK).unwrap()
    }

    fn contact() -> impl Strategy<Value = Reading<bool>> {
        prop_oneof![3 => Just(Reading::Valid(false)), 6 => Just(Reading::Valid(true)), 1 => Just(LOST)]
    }

    proptest! {
        #[test]
        fn it_opens_only_by_a_switch_that_was_moved_with_levers_neutral_for_the_time(
            hold in 0_u32..100, as_found: bool,
            stream in proptest::collection::vec((contact(), prop::bool::weighted(0.8), 1_usize..20), 1..40)
        ) {
            let start = if as_found { LockStart::AsFound } else { LockStart::MustCycle };
            let mut lock = lock(hold, start);
            let (mut moved, mut neutral_steps, mut open) = (as_found, 0, false);
            for (unlock, neutral, steps) in stream {
                for _ in 0..steps {
                    let asked = unlock == Reading::Valid(true);
                    if !asked {
                        moved = unlock.is_valid();
                        open = false;
                    }
                    neutral_steps = if asked && neutral { neutral_steps + 1 } else { 0 };
                    open |= moved && neutral_steps > hold.div_ceil(10);
                    let state = lock.step(unlock, neutral);
                    prop_assert_eq!(lock.is_unlocked(), open);
                    prop_assert_eq!(state == LockState::Locked, !asked);
                    prop_assert_eq!(state == LockState::MustCycle, asked && !moved);
                }
            }
        }

        #[test]
        fn an_open_lock_stays_open_whatever_the_levers_do(levers in proptest::collection::vec(any::<bool>(), 1..100)) {
            let mut lock = lock(0, LockStart::AsFound);
            lock.step(Reading::Valid(true), true);
            for neutral in levers {
                prop_assert_eq!(lock.step(Reading::Valid(true), neutral), LockState::Unlocked);
            }
        }
    }

    #[test]
    fn another_hold_counts_from_the_next_step() {
        let mut lock = lock(0, LockStart::AsFound);
        lock.reconfigure(LockConfig { hold: Millis::millis(30), start: LockStart::AsFound }).unwrap();
        let states = [(); 4].map(|()| lock.step(Reading::Valid(true), true));
        assert_eq!(states[..3], [LockState::NotNeutral; 3]);
        assert_eq!(states[3], LockState::Unlocked);
    }

    #[test]
    fn a_switch_that_was_lost_has_to_be_cycled_even_where_it_counts_as_found() {
        let mut lock = lock(0, LockStart::AsFound);
        assert_eq!(lock.step(Reading::Valid(true), true), LockState::Unlocked);
        assert_eq!(lock.step(LOST, true), LockState::Locked);
        assert_eq!(lock.step(Reading::Valid(true), true), LockState::MustCycle);
        lock.reset();
        assert_eq!(lock.step(Reading::Valid(true), true), LockState::Unlocked);
    }

    #[test]
    fn a_hold_above_its_range_is_refused_and_new_rules_keep_the_lock_open() {
        let mut lock = lock(0, LockStart::AsFound);
        lock.step(Reading::Valid(true), true);
        let bad = LockConfig { hold: Millis::millis(5_001), start: LockStart::AsFound };
        let error = lock.reconfigure(bad).unwrap_err();
        assert_eq!(std::format!("{error}"), "levers neutral for 5001 ms: set 0 ms to 5000 ms");
        lock.reconfigure(LockConfig { hold: Millis::millis(100), start: LockStart::MustCycle }).unwrap();
        assert_eq!(lock.state(), LockState::Unlocked);
        lock.reset();
        assert_eq!(lock.step(Reading::Valid(true), true), LockState::MustCycle);
    }
}
