//! Everything to zero in the same step, and nothing back by itself.

use core::fmt;

use crate::quantity::{Millis, Period, Ratio};
use crate::sense::Reading;

/// What an [`ImmediateStop`] takes for a reset by hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ImmediateStopConfig {
    /// A shorter press is a bounce, 10 ms to 1 s.
    pub shortest_press: Millis,
    /// A longer press is a button that is stuck or tied down, above `shortest_press` up to 10 s.
    pub longest_press: Millis,
}

/// Why an [`ImmediateStopConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum ImmediateStopConfigError {
    /// The shortest press is outside 10 ms to 1 s.
    ShortestPress(Millis),
    /// The longest press is not above the shortest, or above 10 s.
    LongestPress {
        /// What was asked for.
        given: Millis,
        /// It must be longer than this.
        shortest: Millis,
    },
}

impl fmt::Display for ImmediateStopConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::ShortestPress(given) => write!(
                formatter,
                "shortest press of {given}: set {} to {}",
                ImmediateStop::LEAST_PRESS,
                ImmediateStop::MOST_SHORTEST_PRESS
            ),
            Self::LongestPress { given, shortest } => write!(
                formatter,
                "longest press of {given}: set it above the shortest, {shortest}, up to {}",
                ImmediateStop::MOST_LONGEST_PRESS
            ),
        }
    }
}

impl core::error::Error for ImmediateStopConfigError {}

crate::choices! {
    /// Where an [`ImmediateStop`] is.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum StopState {
        /// Its cause is there.
        Stopped = "stopped",
        /// Its cause is gone; it waits to be reset by hand.
        MustReset = "must_reset",
        /// It stops nothing.
        Cleared = "cleared",
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Press {
    /// The button was not yet seen released since the cause went.
    NotSeenReleased,
    Released,
    Held(u32),
}

/// Stops at once on a cause, and stays stopped until the cause is gone and somebody resets it by hand.
///
/// - A cause stops in the same step, without a ramp: what passes through [`pass`](Self::pass) is zero, and
///   [`is_stopped`](Self::is_stopped) is the word for the coil supply and the last gates. It can say no word on what
///   really happened to the currents: that is [`LastGate`](super::LastGate)'s.
/// - Releasing the stop device starts nothing (ISO 13850, from memory). The reset is a press of its own, given after the
///   cause is gone, and counts when the button is let go of (ISO 13849-1 on manual reset, from memory), so that one that
///   is stuck or tied down never resets.
/// - A cause without a valid reading is a cause; a button without one is not pressed, and must be seen released anew.
/// - At start and after `reset()` it waits to be reset by hand, or is stopped.
///
/// The presses are measured from the first step that sees the button pressed to the first that sees it released.
///
#[doc = include_str!("../../docs/guard-immediate_stop.svg")]
///
/// ```
/// use trunnion::guard::{ImmediateStop, ImmediateStopConfig, StopState};
/// use trunnion::quantity::{Millis, Period, Ratio};
/// use trunnion::sense::Reading::Valid;
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config =
///     ImmediateStopConfig { shortest_press: Millis::millis(50), longest_press: Millis::millis(3_000) };
/// let mut stop = ImmediateStop::new(config, TICK).unwrap();
/// assert_eq!(stop.step(Valid(true), Valid(false)), StopState::Stopped); // mushroom pressed
/// assert_eq!(stop.step(Valid(false), Valid(false)), StopState::MustReset); // pulled out again
/// assert_eq!(stop.pass(Ratio::ONE), Ratio::ZERO);
/// for _ in 0..5 {
///     stop.step(Valid(false), Valid(true)); // the reset button, for 50 ms
/// }
/// assert_eq!(stop.step(Valid(false), Valid(false)), StopState::Cleared);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct ImmediateStop {
    shortest: u32,
    longest: u32,
    period: Period,
    state: StopState,
    press: Press,
}

impl ImmediateStop {
    /// Least that a shortest press can be.
    pub const LEAST_PRESS: Millis = Millis::millis(10);
    /// Most that a shortest press can be.
    pub const MOST_SHORTEST_PRESS: Millis = Millis::millis(1_000);
    /// Most that a longest press can be.
    pub const MOST_LONGEST_PRESS: Millis = Millis::millis(10_000);

    /// To be reset by hand. Refuses times outside their range.
    ///
    /// # Errors
    ///
    /// [`ImmediateStopConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: ImmediateStopConfig, period: Period) -> Result<Self, ImmediateStopConfigError> {
        let ImmediateStopConfig { shortest_press: shortest, longest_press: longest } = config;
        if shortest.ticks() < Self::LEAST_PRESS.ticks()
            || shortest.ticks() > Self::MOST_SHORTEST_PRESS.ticks()
        {
            return Err(ImmediateStopConfigError::ShortestPress(shortest));
        }
        if longest.ticks() <= shortest.ticks() || longest.ticks() > Self::MOST_LONGEST_PRESS.ticks() {
            return Err(ImmediateStopConfigError::LongestPress { given: longest, shortest });
        }
        Ok(Self {
            shortest: period.steps(shortest),
            longest: period.steps(longest),
            period,
            state: StopState::MustReset,
            press: Press::NotSeenReleased,
        })
    }

    /// Other times, also for a press that is under way; a stop stays a stop.
    ///
    /// # Errors
    ///
    /// [`ImmediateStopConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: ImmediateStopConfig) -> Result<(), ImmediateStopConfigError> {
        let Self { shortest, longest, .. } = Self::new(config, self.period)?;
        *self = Self { shortest, longest, ..*self };
        Ok(())
    }

    /// To be reset by hand.
    pub fn reset(&mut self) {
        self.state = StopState::MustReset;
        self.press = Press::NotSeenReleased;
    }

    /// One period with the cause and the reset button.
    pub fn step(&mut self, cause: Reading<bool>, button: Reading<bool>) -> StopState {
        if cause.or(true) {
            self.state = StopState::Stopped;
            self.press = Press::NotSeenReleased;
            return self.state;
        }
        if self.state == StopState::Cleared {
            return self.state;
        }
        self.state = StopState::MustReset;
        self.press = match (self.press, button) {
            (_, Reading::Faulted(_)) | (Press::NotSeenReleased, Reading::Valid(true)) => {
                Press::NotSeenReleased
            }
            (Press::Released, Reading::Valid(true)) => Press::Held(1),
            (Press::Held(steps), Reading::Valid(true)) => Press::Held(steps.saturating_add(1)),
            (Press::Held(steps), Reading::Valid(false))
                if steps >= self.shortest && steps <= self.longest =>
            {
                self.state = StopState::Cleared;
                Press::Released
            }
            (_, Reading::Valid(false)) => Press::Released,
        };
        self.state
    }

    /// Where it is.
    pub const fn state(&self) -> StopState {
        self.state
    }

    /// True while nothing may move.
    pub const fn is_stopped(&self) -> bool {
        !matches!(self.state, StopState::Cleared)
    }

    /// The command, or zero while stopped.
    pub const fn pass(&self, command: Ratio) -> Ratio {
        if self.is_stopped() { Ratio::ZERO } else { command }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: ImmediateStopConfig =
        ImmediateStopConfig { shortest_press: Millis::millis(50), longest_press: Millis::millis(400) };
    const OFF: Reading<bool> = Reading::Valid(false);
    const ON: Reading<bool> = Reading::Valid(true);
    const LOST: Reading<bool> = Reading::Faulted(Flaw::Disagreement);

    fn contact() -> impl Strategy<Value = Reading<bool>> {
        prop_oneof![6 => Just(OFF), 3 => Just(ON), 1 => Just(LOST)]
    }

    fn press(stop: &mut ImmediateStop, steps: usize) -> StopState {
        for _ in 0..steps {
            stop.step(OFF, ON);
        }
        stop.step(OFF, OFF)
    }

    proptest! {
        #[test]
        fn a_cause_stops_in_the_same_step_and_only_a_whole_press_after_it_clears(
            stream in proptest::collection::vec((prop_oneof![30 => Just(OFF), 1 => Just(ON), 1 => Just(LOST)], contact(), 1_usize..12), 1..60)
        ) {
            let mut stop = ImmediateStop::new(CONFIG, TICK).unwrap();
            // The story since the last cause, told by an own bookkeeping: released seen, then steps pressed.
            let (mut released, mut pressed, mut cleared) = (false, 0, false);
            for (cause, button, steps) in stream {
                for _ in 0..steps {
                    if cause != OFF {
                        (released, pressed, cleared) = (false, 0, false);
                    } else if button == LOST {
                        (released, pressed) = (false, 0);
                    } else if button == OFF {
                        cleared |= (5..=40).contains(&pressed);
                        (released, pressed) = (true, 0);
                    } else if released {
                        pressed += 1;
                    }
                    let state = stop.step(cause, button);
                    prop_assert_eq!(state == StopState::Cleared, cleared);
                    prop_assert_eq!(state == StopState::Stopped, cause != OFF);
                    prop_assert_eq!(stop.pass(Ratio::ONE), if cleared { Ratio::ONE } else { Ratio::ZERO });
                }
            }
        }
    }

    #[test]
    fn other_times_count_for_the_next_press() {
        let mut stop = ImmediateStop::new(CONFIG, TICK).unwrap();
        stop.step(ON, OFF);
        stop.step(OFF, OFF);
        assert_eq!(press(&mut stop, 41), StopState::MustReset);
        stop.reconfigure(ImmediateStopConfig { longest_press: Millis::millis(500), ..CONFIG }).unwrap();
        assert_eq!(press(&mut stop, 41), StopState::Cleared);
    }

    #[test]
    fn a_press_too_short_too_long_or_held_since_before_does_not_clear() {
        for (steps, expected) in [
            (4, StopState::MustReset),
            (5, StopState::Cleared),
            (40, StopState::Cleared),
            (41, StopState::MustReset),
        ] {
            let mut stop = ImmediateStop::new(CONFIG, TICK).unwrap();
            stop.step(OFF, OFF);
            assert_eq!(press(&mut stop, steps), expected, "{steps} steps");
        }
        let mut stop = ImmediateStop::new(CONFIG, TICK).unwrap();
        stop.step(ON, ON);
        assert_eq!(press(&mut stop, 10), StopState::MustReset, "held since the cause was there");
        assert_eq!(press(&mut stop, 10), StopState::Cleared);
        stop.reset();
        assert!(stop.is_stopped());
    }

    #[test]
    fn times_outside_their_range_are_refused_and_change_nothing() {
        let mut stop = ImmediateStop::new(CONFIG, TICK).unwrap();
        let bad = ImmediateStopConfig { shortest_press: Millis::millis(9), ..CONFIG };
        let error = stop.reconfigure(bad).unwrap_err();
        assert_eq!(std::format!("{error}"), "shortest press of 9 ms: set 10 ms to 1000 ms");
        let bad = ImmediateStopConfig { longest_press: Millis::millis(50), ..CONFIG };
        let error = stop.reconfigure(bad).unwrap_err();
        assert_eq!(
            std::format!("{error}"),
            "longest press of 50 ms: set it above the shortest, 50 ms, up to 10000 ms"
        );
        stop.step(OFF, OFF);
        stop.reconfigure(ImmediateStopConfig { shortest_press: Millis::millis(10), ..CONFIG }).unwrap();
        assert_eq!(press(&mut stop, 1), StopState::Cleared);
        stop.reconfigure(CONFIG).unwrap();
        assert_eq!(stop.state(), StopState::Cleared);
    }
}
