//! It runs while it is held.

use core::fmt;

use crate::quantity::{Millis, Period};
use crate::sense::Reading;

/// Rules of a [`HoldToRun`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct HoldToRunConfig {
    /// After this time it must be let go of and held anew, 100 ms to 10 min: a control that is tied down is found out.
    pub longest: Millis,
}

/// Why a [`HoldToRunConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum HoldToRunConfigError {
    /// The longest run is outside 100 ms to 10 min.
    Longest(Millis),
}

impl fmt::Display for HoldToRunConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Longest(given) = self;
        let (low, high) = (HoldToRun::SHORTEST_LIMIT, HoldToRun::LONGEST_LIMIT);
        write!(formatter, "run of {given} at most: set {low} to {high}")
    }
}

impl core::error::Error for HoldToRunConfigError {}

crate::choices! {
    /// What a hold-to-run control allows.
    pub enum HoldState {
        /// It must be let go of first.
        MustRelease = "must_release",
        /// Let go of; holding it runs.
        Released = "released",
        /// Held, and running.
        Running = "running",
    }
}

/// Allows a motion only while a control is held: inching by a button, a routine of the service, a swing-out step.
///
/// - Letting go ends the run in the same step, and so do a missing permission and a control without a valid reading.
/// - A run begins only with a press that was seen from released, with permission: a control that is held at
///   power-up, or while the permission comes, must be let go of first.
/// - After `longest` it must be let go of, too.
///
#[doc = include_str!("../../docs/guard-hold_to_run.svg")]
///
/// ```
/// use trunnion::guard::{HoldState, HoldToRun, HoldToRunConfig};
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::sense::Reading;
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let mut button = HoldToRun::new(HoldToRunConfig { longest: Millis::millis(30_000) }, TICK).unwrap();
/// let (held, free) = (Reading::Valid(true), Reading::Valid(false));
///
/// assert_eq!(button.step(true, held), HoldState::MustRelease); // held since power-up
/// assert_eq!(button.step(true, free), HoldState::Released);
/// assert_eq!(button.step(true, held), HoldState::Running);
/// assert_eq!(button.step(false, held), HoldState::MustRelease);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct HoldToRun {
    longest: u32,
    period: Period,
    ran_for: u32,
    state: HoldState,
}

impl HoldToRun {
    /// Shortest limit of a run.
    pub const SHORTEST_LIMIT: Millis = Millis::millis(100);
    /// Longest limit of a run.
    pub const LONGEST_LIMIT: Millis = Millis::millis(600_000);

    /// To be let go of. Refuses a time outside its range.
    ///
    /// # Errors
    ///
    /// [`HoldToRunConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: HoldToRunConfig, period: Period) -> Result<Self, HoldToRunConfigError> {
        let given = config.longest;
        if given.ticks() < Self::SHORTEST_LIMIT.ticks() || given.ticks() > Self::LONGEST_LIMIT.ticks() {
            return Err(HoldToRunConfigError::Longest(given));
        }
        Ok(Self { longest: period.steps(given), period, ran_for: 0, state: HoldState::MustRelease })
    }

    /// Another limit, also for a run that is under way.
    ///
    /// # Errors
    ///
    /// [`HoldToRunConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: HoldToRunConfig) -> Result<(), HoldToRunConfigError> {
        self.longest = Self::new(config, self.period)?.longest;
        Ok(())
    }

    /// To be let go of.
    pub fn reset(&mut self) {
        self.state = HoldState::MustRelease;
        self.ran_for = 0;
    }

    /// One period.
    pub fn step(&mut self, permitted: bool, held: Reading<bool>) -> HoldState {
        self.state = match (permitted, held) {
            (false, _) | (_, Reading::Faulted(_)) => HoldState::MustRelease,
            (true, Reading::Valid(false)) => HoldState::Released,
            (true, Reading::Valid(true)) => match self.state {
                HoldState::Released => HoldState::Running,
                HoldState::Running if self.ran_for < self.longest => HoldState::Running,
                HoldState::Running | HoldState::MustRelease => HoldState::MustRelease,
            },
        };
        self.ran_for = if self.is_running() { self.ran_for.saturating_add(1) } else { 0 };
        self.state
    }

    /// What the last step gave.
    pub const fn state(&self) -> HoldState {
        self.state
    }

    /// True while it runs.
    pub const fn is_running(&self) -> bool {
        matches!(self.state, HoldState::Running)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const LONGEST: usize = 10;

    fn hold() -> HoldToRun {
        HoldToRun::new(HoldToRunConfig { longest: Millis::millis(100) }, TICK).unwrap()
    }

    fn stream() -> impl Strategy<Value = Vec<(bool, Reading<bool>)>> {
        let held = prop_oneof![
            5 => Just(Reading::Valid(true)),
            3 => Just(Reading::Valid(false)),
            1 => Just(Reading::Faulted(Flaw::Disagreement)),
        ];
        let segment = ((prop::bool::weighted(0.9), held), prop_oneof![Just(1_usize), 1_usize..20]);
        proptest::collection::vec(segment, 0..20).prop_map(|segments| {
            segments.into_iter().flat_map(|(inputs, steps)| std::iter::repeat_n(inputs, steps)).collect()
        })
    }

    proptest! {
        #[test]
        fn it_runs_exactly_in_the_first_steps_of_a_press_that_was_seen_from_released(stream in stream()) {
            let mut hold = hold();
            for now in 0..stream.len() {
                let running = hold.step(stream[now].0, stream[now].1) == HoldState::Running;
                let press = (true, Reading::Valid(true));
                let held = stream[..=now].iter().rev().take_while(|inputs| **inputs == press).count();
                let before = stream[..=now].iter().rev().nth(held);
                let expected = (1..=LONGEST).contains(&held) && before == Some(&(true, Reading::Valid(false)));
                prop_assert_eq!(running, expected);
            }
        }

        #[test]
        fn from_every_state_letting_go_and_pressing_runs(stream in stream()) {
            let mut hold = hold();
            for (permitted, held) in stream {
                hold.step(permitted, held);
            }
            prop_assert_eq!(hold.step(true, Reading::Valid(false)), HoldState::Released);
            prop_assert_eq!(hold.step(true, Reading::Valid(true)), HoldState::Running);
            hold.reset();
            prop_assert_eq!(hold.step(true, Reading::Valid(true)), HoldState::MustRelease);
        }
    }

    #[test]
    fn a_shorter_limit_ends_a_run_that_is_under_way_and_a_bad_one_changes_nothing() {
        let mut hold = HoldToRun::new(HoldToRunConfig { longest: Millis::millis(500) }, TICK).unwrap();
        let error = hold.reconfigure(HoldToRunConfig { longest: Millis::millis(99) }).unwrap_err();
        assert_eq!(std::format!("{error}"), "run of 99 ms at most: set 100 ms to 600000 ms");
        hold.step(true, Reading::Valid(false));
        for _ in 0..20 {
            assert_eq!(hold.step(true, Reading::Valid(true)), HoldState::Running);
        }
        hold.reconfigure(HoldToRunConfig { longest: Millis::millis(100) }).unwrap();
        assert_eq!(hold.step(true, Reading::Valid(true)), HoldState::MustRelease);
    }

    four_verbs! {
        new: |config| HoldToRun::new(config, TICK),
        configs: (HoldToRunConfig { longest: Millis::millis(150) }, HoldToRunConfig { longest: Millis::millis(300) }),
        accepted: [
            HoldToRunConfig { longest: Millis::millis(100) },
            HoldToRunConfig { longest: Millis::millis(600000) },
        ],
        refused: [
            HoldToRunConfig { longest: Millis::millis(99) } => "run of 99 ms at most: set 100 ms to 600000 ms",
            HoldToRunConfig { longest: Millis::millis(600001) } => "run of 600001 ms at most: set 100 ms to 600000 ms",
        ],
        inputs: (prop::bool::weighted(0.9), proptest::sample::select(&[Reading::Valid(true), Reading::Valid(true), Reading::Valid(false), Reading::Faulted(Flaw::Silent)])),
        step: |block, (permitted, held)| (block.step(permitted, held), block.state(), block.is_running()),
        reset: |block| block.reset(),
    }
}
