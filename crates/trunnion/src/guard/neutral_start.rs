//! No motion before the levers were let go of.

use core::fmt;

use crate::quantity::{Millis, Period};

/// Rules of a [`NeutralStart`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NeutralStartConfig {
    /// How long the levers must be neutral, 50 ms to 5 s; common practice is 100 ms.
    pub hold: Millis,
    /// How many new frames must say so, 1 to 20; common practice is 3.
    pub frames: u8,
}

/// Why a [`NeutralStartConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NeutralStartConfigError {
    /// The time at neutral is outside 50 ms to 5 s.
    Hold(Millis),
    /// The number of frames is outside 1 to 20.
    Frames(u8),
}

impl fmt::Display for NeutralStartConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Hold(given) => write!(
                formatter,
                "levers neutral for {given}: set {} to {}",
                NeutralStart::SHORTEST_HOLD,
                NeutralStart::LONGEST_HOLD
            ),
            Self::Frames(given) => {
                write!(formatter, "{given} neutral frames: set 1 to {}", NeutralStart::MOST_FRAMES)
            }
        }
    }
}

impl core::error::Error for NeutralStartConfigError {}

/// What a [`NeutralStart`] looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct NeutralStartInputs {
    /// Everything else that the group needs holds.
    pub conditions: bool,
    /// All levers of the group are neutral: flag, direction flags, position and freshness.
    pub neutral: bool,
    /// Every lever of the group sent a new valid frame since the last step.
    pub new_frame: bool,
    /// The operator asks for it now: the rising edge of the enable button.
    pub ask: bool,
    /// The operator must ask again: power-up, seat or bar open.
    pub ask_required: bool,
}

crate::choices! {
    /// How far a group is on the way to its permission.
    pub enum StartPhase {
        /// A condition is missing.
        Blocked = "blocked",
        /// A lever is not neutral, or not yet for long enough.
        NotNeutral = "not_neutral",
        /// The operator has yet to ask.
        AwaitingAsk = "awaiting_enable",
        /// May move.
        Permitted = "permitted",
    }
}

/// Gives a group its permission only after its levers were neutral, and after the operator asked for it.
///
/// - Any missing condition takes the permission away in the same step and starts all over.
/// - Neutral means without a break for `hold` and for `frames` new frames, both while the conditions hold. The time
///   counts from the first step that saw it, so it is never shorter than `hold`.
/// - From construction, from `reset` and from every step with `ask_required`, the operator must ask. Asking counts only
///   once the levers were neutral for long enough, and is forgotten when the conditions fail before.
/// - Once permitted, levers may move; `ask_required` alone takes nothing away, it counts from the next loss on.
///
/// ```
/// use trunnion::guard::{NeutralStart, NeutralStartConfig, NeutralStartInputs, StartPhase};
/// use trunnion::quantity::{Millis, Period};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// let config = NeutralStartConfig { hold: Millis::millis(100), frames: 3 };
/// let mut drive = NeutralStart::new(config, TICK).unwrap();
///
/// let seated = NeutralStartInputs { conditions: true, neutral: true, new_frame: true, ..Default::default() };
/// for _ in 0..11 {
///     drive.step(seated);
/// }
/// assert_eq!(drive.phase(), StartPhase::AwaitingAsk);
/// assert_eq!(drive.step(NeutralStartInputs { ask: true, ..seated }), StartPhase::Permitted);
/// // Now the levers may move, until a condition goes.
/// assert_eq!(drive.step(NeutralStartInputs { neutral: false, ..seated }), StartPhase::Permitted);
/// assert_eq!(drive.step(NeutralStartInputs { conditions: false, ..seated }), StartPhase::Blocked);
/// ```
#[derive(Debug, Clone, Copy)]
pub struct NeutralStart {
    hold: u32,
    frames: u8,
    period: Period,
    phase: StartPhase,
    must_ask: bool,
    neutral_steps: u32,
    neutral_frames: u8,
}

impl NeutralStart {
    /// Shortest time at neutral.
    pub const SHORTEST_HOLD: Millis = Millis::millis(50);
    /// Longest time at neutral.
    pub const LONGEST_HOLD: Millis = Millis::millis(5_000);
    /// Most frames at neutral.
    pub const MOST_FRAMES: u8 = 20;

    /// Not permitted, and to be asked for. Refuses a time or a number of frames outside its range.
    pub const fn new(config: NeutralStartConfig, period: Period) -> Result<Self, NeutralStartConfigError> {
        if config.hold.ticks() < Self::SHORTEST_HOLD.ticks()
            || config.hold.ticks() > Self::LONGEST_HOLD.ticks()
        {
            return Err(NeutralStartConfigError::Hold(config.hold));
        }
        if config.frames == 0 || config.frames > Self::MOST_FRAMES {
            return Err(NeutralStartConfigError::Frames(config.frames));
        }
        Ok(Self {
            hold: period.steps(config.hold),
            frames: config.frames,
            period,
            phase: StartPhase::Blocked,
            must_ask: true,
            neutral_steps: 0,
            neutral_frames: 0,
        })
    }

    /// Other rules for the next start; a permission that was given stays.
    pub fn reconfigure(&mut self, config: NeutralStartConfig) -> Result<(), NeutralStartConfigError> {
        let Self { hold, frames, .. } = Self::new(config, self.period)?;
        *self = Self { hold, frames, ..*self };
        Ok(())
    }

    /// Takes the permission away; the operator must ask again.
    pub fn reset(&mut self) {
        self.phase = StartPhase::Blocked;
        self.must_ask = true;
        self.forget_neutral();
    }

    /// One period.
    pub fn step(&mut self, inputs: NeutralStartInputs) -> StartPhase {
        self.must_ask |= inputs.ask_required;
        if !inputs.conditions {
            self.forget_neutral();
            self.phase = StartPhase::Blocked;
        } else if self.phase != StartPhase::Permitted {
            self.phase = self.waiting(inputs);
        }
        self.phase
    }

    /// How far the group is.
    pub const fn phase(&self) -> StartPhase {
        self.phase
    }

    /// True when the group may move.
    pub const fn permitted(&self) -> bool {
        matches!(self.phase, StartPhase::Permitted)
    }

    /// True when the next start needs the operator to ask.
    pub const fn must_ask(&self) -> bool {
        self.must_ask
    }

    fn waiting(&mut self, inputs: NeutralStartInputs) -> StartPhase {
        if !inputs.neutral {
            self.forget_neutral();
            return StartPhase::NotNeutral;
        }
        let neutral_long_enough = self.neutral_steps >= self.hold;
        self.neutral_steps = self.neutral_steps.saturating_add(1);
        self.neutral_frames = self.neutral_frames.saturating_add(u8::from(inputs.new_frame));
        if !neutral_long_enough || self.neutral_frames < self.frames {
            return StartPhase::NotNeutral;
        }
        if self.must_ask {
            if inputs.ask_required || !inputs.ask {
                return StartPhase::AwaitingAsk;
            }
            self.must_ask = false;
        }
        self.forget_neutral();
        StartPhase::Permitted
    }

    fn forget_neutral(&mut self) {
        self.neutral_steps = 0;
        self.neutral_frames = 0;
    }
}
