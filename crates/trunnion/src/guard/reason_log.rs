//! What kept groups from moving, remembered for the time before a stop.

use core::fmt;

use super::Reasons;
use crate::quantity::{Millis, Period};

/// How far a [`ReasonLog`] looks back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ReasonLogConfig {
    /// Changes older than this make room, 1 s to 10 min; 30 s is our engineering judgement.
    pub look_back: Millis,
}

/// Why a [`ReasonLogConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ReasonLogConfigError {
    /// The look-back is outside 1 s to 10 min.
    LookBack(Millis),
}

impl fmt::Display for ReasonLogConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::LookBack(given) => write!(formatter, "look-back of {given}: set 1 s to 10 min"),
        }
    }
}

impl core::error::Error for ReasonLogConfigError {}

/// A change of the reasons why not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ReasonEntry<const GROUPS: usize> {
    /// Period in which it changed, counted since start.
    pub period: u32,
    /// Why not, for each group.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    pub why_not: [Reasons; GROUPS],
}

/// The last changes of why each group was not permitted.
///
/// Changes of the look-back are kept, at most the newest `ENTRIES`. A stop, the loss of any permission while it
/// was given, freezes the log one step later, so that it tells what led there; the next permission starts it anew.
///
#[doc = include_str!("../../docs/guard-reason_log.svg")]
///
/// ```
/// use trunnion::guard::{ReasonLog, ReasonLogConfig, Reasons};
/// use trunnion::quantity::{Millis, Period};
///
/// const BAR_UP: u8 = 3;
/// let config = ReasonLogConfig { look_back: Millis::millis(30_000) };
/// let mut log = ReasonLog::<1, 8>::new(config, Period::from_micros(10_000).unwrap()).unwrap();
/// log.step([Reasons::none()], true);
/// log.step([Reasons::none().with(BAR_UP)], false); // the bar goes up: a stop
/// log.step([Reasons::none()], false); // and down again: too late to be told
/// assert!(log.is_frozen());
/// assert!(log.entries().last().unwrap().why_not[0].has(BAR_UP));
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct ReasonLog<const GROUPS: usize, const ENTRIES: usize> {
    entries: heapless::Vec<ReasonEntry<GROUPS>, ENTRIES>,
    look_back: u32,
    period: Period,
    now: u32,
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    last: [Reasons; GROUPS],
    frozen: bool,
    was_permitted: bool,
}

impl<const GROUPS: usize, const ENTRIES: usize> ReasonLog<GROUPS, ENTRIES> {
    /// Shortest look-back.
    pub const SHORTEST: Millis = Millis::millis(1_000);
    /// Longest look-back.
    pub const LONGEST: Millis = Millis::millis(600_000);

    /// Empty. Refuses a look-back outside its range.
    ///
    /// # Errors
    ///
    /// [`ReasonLogConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: ReasonLogConfig, period: Period) -> Result<Self, ReasonLogConfigError> {
        let look_back = config.look_back;
        if look_back.ticks() < Self::SHORTEST.ticks() || look_back.ticks() > Self::LONGEST.ticks() {
            return Err(ReasonLogConfigError::LookBack(look_back));
        }
        Ok(Self {
            entries: heapless::Vec::new(),
            look_back: period.steps(look_back),
            period,
            now: 0,
            last: [Reasons::none(); GROUPS],
            frozen: false,
            was_permitted: false,
        })
    }

    /// Another look-back; what is kept stays until its time is over.
    ///
    /// # Errors
    ///
    /// [`ReasonLogConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: ReasonLogConfig) -> Result<(), ReasonLogConfigError> {
        self.look_back = Self::new(config, self.period)?.look_back;
        Ok(())
    }

    /// Empty, and not frozen.
    pub fn reset(&mut self) {
        self.entries.clear();
        self.last = [Reasons::none(); GROUPS];
        self.frozen = false;
        self.was_permitted = false;
    }

    /// One period: why not, for each group, and whether any group is permitted.
    pub fn step(&mut self, why_not: [Reasons; GROUPS], permitted: bool) {
        if permitted && !self.was_permitted {
            self.frozen = false;
        }
        if !self.frozen {
            self.forget();
            if why_not != self.last {
                self.keep(ReasonEntry { period: self.now, why_not });
            }
        }
        if self.was_permitted && !permitted {
            self.frozen = true;
        }
        self.last = why_not;
        self.was_permitted = permitted;
        self.now = self.now.saturating_add(1);
    }

    /// Oldest first.
    pub fn entries(&self) -> impl DoubleEndedIterator<Item = &ReasonEntry<GROUPS>> {
        self.entries.iter()
    }

    /// A stop has frozen it.
    pub const fn is_frozen(&self) -> bool {
        self.frozen
    }

    fn forget(&mut self) {
        if self.entries.first().is_some_and(|oldest| self.now.saturating_sub(oldest.period) > self.look_back)
        {
            self.drop_oldest();
        }
    }

    fn keep(&mut self, entry: ReasonEntry<GROUPS>) {
        if self.entries.is_full() {
            self.drop_oldest();
        }
        // There is room, unless ENTRIES is zero: then nothing is kept.
        let _ = self.entries.push(entry);
    }

    /// Moves each entry to the place of its elder.
    fn drop_oldest(&mut self) {
        let mut newer = None;
        for entry in self.entries.iter_mut().rev() {
            let kept = newer.unwrap_or(*entry);
            newer = Some(core::mem::replace(entry, kept));
        }
        self.entries.pop();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn log() -> ReasonLog<2, 4> {
        ReasonLog::new(ReasonLogConfig { look_back: Millis::millis(1_000) }, TICK).unwrap()
    }

    #[test]
    fn a_look_back_outside_its_range_is_refused() {
        for bad in [0, 999, 600_001] {
            let look_back = Millis::millis(bad);
            assert_eq!(
                ReasonLog::<1, 1>::new(ReasonLogConfig { look_back }, TICK).unwrap_err(),
                ReasonLogConfigError::LookBack(look_back)
            );
        }
    }

    #[test]
    fn what_led_to_a_stop_stays_until_the_next_permission() {
        let mut log = log();
        let seat = Reasons::none().with(1);
        log.step([Reasons::none(); 2], true);
        log.step([seat, Reasons::none()], false);
        for _ in 0..1_000 {
            log.step([Reasons::none().with(9); 2], false);
        }
        assert_eq!(log.entries().map(|entry| entry.period).collect::<Vec<_>>(), [1]);
        assert!(log.is_frozen());
        log.step([Reasons::none(); 2], true);
        assert!(!log.is_frozen());
    }

    #[test]
    fn a_change_is_remembered_for_the_look_back_and_no_step_longer() {
        let mut log = log();
        log.step([Reasons::none().with(1), Reasons::none()], false);
        for periods in 1..=300 {
            log.step([Reasons::none().with(1), Reasons::none()], false);
            assert_eq!(
                log.entries().count(),
                usize::from(periods <= 100),
                "after {periods} periods of 10 ms"
            );
        }
    }

    proptest! {
        #[test]
        fn the_log_holds_the_newest_changes_in_order(steps in proptest::collection::vec((0_u32..4, 0_u32..4), 0..60)) {
            let mut log = log();
            let mut changes = Vec::new();
            let mut last = [Reasons::none(); 2];
            for (period, (a, b)) in steps.iter().enumerate() {
                let why_not = [Reasons::from_bits(*a), Reasons::from_bits(*b)];
                if why_not != last {
                    changes.push(ReasonEntry { period: period as u32, why_not });
                }
                last = why_not;
                log.step(why_not, false);
            }
            let newest: Vec<_> = changes.iter().rev().take(4).rev().copied().collect();
            prop_assert_eq!(log.entries().copied().collect::<Vec<_>>(), newest);
        }

        #[test]
        fn nothing_older_than_the_look_back_is_kept_for_long(gap in 101_u32..300) {
            let mut log = log();
            log.step([Reasons::from_bits(1); 2], false);
            for _ in 0..gap {
                log.step([Reasons::from_bits(1); 2], false);
            }
            prop_assert_eq!(log.entries().count(), 0);
        }
    }

    four_verbs! {
        new: |config| ReasonLog::<1, 4>::new(config, TICK),
        configs: (ReasonLogConfig { look_back: Millis::millis(1000) }, ReasonLogConfig { look_back: Millis::millis(1200) }),
        accepted: [
            ReasonLogConfig { look_back: Millis::millis(1000) },
            ReasonLogConfig { look_back: Millis::millis(600000) },
        ],
        refused: [
            ReasonLogConfig { look_back: Millis::millis(999) } => "look-back of 999 ms: set 1 s to 10 min",
            ReasonLogConfig { look_back: Millis::millis(600001) } => "look-back of 600001 ms: set 1 s to 10 min",
        ],
        inputs: (0_u32..3, any::<bool>()),
        step: |block, (reasons, permitted)| {
            block.step([Reasons::from_bits(reasons)], permitted);
            (block.is_frozen(), block.entries().copied().collect::<Vec<_>>())
        },
    }

    proptest! {
        #[test]
        fn after_a_reset_it_is_as_new_but_counts_periods_on(before in proptest::collection::vec((0_u32..4, any::<bool>()), 0..40)) {
            let mut log = log();
            for (reasons, permitted) in before.iter().copied() {
                log.step([Reasons::from_bits(reasons); 2], permitted);
            }
            log.reset();
            prop_assert!(!log.is_frozen() && log.entries().next().is_none());
            // Nothing was permitted, so nothing can be lost; and no reason is known, so the first one is new.
            let reason = [Reasons::from_bits(1); 2];
            log.step(reason, false);
            prop_assert!(!log.is_frozen());
            let entries: Vec<_> = log.entries().copied().collect();
            prop_assert_eq!(entries, [ReasonEntry { period: before.len() as u32, why_not: reason }]);
        }
    }
}
