//! No motion before the levers were let go of.

use core::fmt;

use crate::quantity::{Millis, Period};

/// Rules of a [`NeutralStart`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct NeutralStartConfig {
    /// How long the levers must be neutral, 50 ms to 5 s; common practice is 100 ms.
    pub hold: Millis,
    /// How many new frames must say so, 1 to 20; common practice is 3.
    pub frames: u8,
}

/// Why a [`NeutralStartConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
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
#[doc = include_str!("../../docs/guard-neutral_start.svg")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
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
    ///
    /// # Errors
    ///
    /// [`NeutralStartConfigError`]: which rule the config breaks, with its value.
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
    ///
    /// # Errors
    ///
    /// [`NeutralStartConfigError`], as for `new`; everything then stays as it was.
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const CONFIG: NeutralStartConfig = NeutralStartConfig { hold: Millis::millis(100), frames: 3 };
    const HOLD: usize = 10;
    const GOOD: NeutralStartInputs = NeutralStartInputs {
        conditions: true,
        neutral: true,
        new_frame: true,
        ask: false,
        ask_required: false,
    };

    fn inputs() -> impl Strategy<Value = NeutralStartInputs> {
        let mostly = || prop::bool::weighted(0.85);
        (mostly(), mostly(), any::<bool>(), any::<bool>(), prop::bool::weighted(0.1)).prop_map(
            |(conditions, neutral, new_frame, ask, ask_required)| NeutralStartInputs {
                conditions,
                neutral,
                new_frame,
                ask,
                ask_required,
            },
        )
    }

    /// Inputs that last, with single steps among them.
    fn stream() -> impl Strategy<Value = Vec<NeutralStartInputs>> {
        proptest::collection::vec((inputs(), prop_oneof![Just(1usize), 1usize..30]), 1..30).prop_map(
            |segments| {
                segments.into_iter().flat_map(|(inputs, steps)| std::iter::repeat_n(inputs, steps)).collect()
            },
        )
    }

    fn start() -> NeutralStart {
        NeutralStart::new(CONFIG, TICK).unwrap()
    }

    /// The steps up to the end of `history` in which nothing stood against a start.
    fn calm(history: &[NeutralStartInputs]) -> &[NeutralStartInputs] {
        let calm = history.iter().rev().take_while(|inputs| inputs.conditions && inputs.neutral).count();
        &history[history.len() - calm..]
    }

    #[test]
    fn as_many_frames_as_are_asked_are_enough() {
        for (frames, permitted) in [(2, false), (3, true)] {
            let mut start = start();
            for step in 0..=HOLD {
                start.step(NeutralStartInputs { new_frame: step < frames, ask: step == HOLD, ..GOOD });
            }
            assert_eq!(start.permitted(), permitted, "{frames} frames");
        }
    }

    proptest! {
        #[test]
        fn there_is_no_permission_before_neutral_start(stream in stream()) {
            let mut start = start();
            let mut permitted = false;
            for now in 1..=stream.len() {
                start.step(stream[now - 1]);
                let calm = calm(&stream[..now]);
                if start.permitted() && !permitted {
                    prop_assert!(calm.len() > HOLD, "neutral for {} steps", calm.len());
                    prop_assert!(calm.iter().filter(|inputs| inputs.new_frame).count() >= 3);
                }
                permitted = start.permitted();
            }
        }

        #[test]
        fn after_power_up_and_after_every_event_that_requires_it_the_operator_must_ask(stream in stream()) {
            let mut start = start();
            let (mut permitted, mut asked) = (false, false);
            for inputs in stream {
                asked &= !inputs.ask_required;
                start.step(inputs);
                if start.permitted() && !permitted {
                    prop_assert!(asked || (inputs.ask && !inputs.ask_required));
                    asked = true;
                }
                permitted = start.permitted();
            }
        }

        #[test]
        fn any_missing_condition_takes_the_permission_in_the_same_step(stream in stream()) {
            let mut start = start();
            for inputs in stream {
                let phase = start.step(inputs);
                prop_assert_eq!(phase == StartPhase::Blocked, !inputs.conditions);
            }
        }

        #[test]
        fn a_permission_stays_until_a_condition_goes_whatever_the_levers_do(stream in stream()) {
            let mut start = start();
            let mut permitted = false;
            for inputs in stream {
                start.step(inputs);
                prop_assert!(!permitted || start.permitted() || !inputs.conditions);
                permitted = start.permitted();
            }
        }

        #[test]
        fn whatever_was_before_neutral_levers_frames_and_asking_give_permission(stream in stream()) {
            let mut start = start();
            for inputs in stream {
                start.step(inputs);
            }
            for _ in 0..=HOLD {
                start.step(GOOD);
            }
            prop_assert_eq!(start.step(NeutralStartInputs { ask: true, ..GOOD }), StartPhase::Permitted);
        }
    }

    #[test]
    fn asking_before_the_levers_were_neutral_for_the_hold_time_is_forgotten() {
        let mut start = start();
        for _ in 0..HOLD {
            assert_eq!(start.step(NeutralStartInputs { ask: true, ..GOOD }), StartPhase::NotNeutral);
        }
        assert_eq!(start.step(GOOD), StartPhase::AwaitingAsk);
        assert_eq!(
            start.step(NeutralStartInputs { neutral: false, ask: true, ..GOOD }),
            StartPhase::NotNeutral
        );
    }

    #[test]
    fn levers_that_send_nothing_new_are_not_neutral() {
        let mut start = start();
        let silent = NeutralStartInputs { new_frame: false, ask: true, ..GOOD };
        for _ in 0..100 {
            assert_eq!(start.step(silent), StartPhase::NotNeutral);
        }
    }

    #[test]
    fn a_loss_without_an_event_needs_neutral_levers_but_no_asking() {
        let mut start = start();
        for _ in 0..=HOLD {
            start.step(NeutralStartInputs { ask: true, ..GOOD });
        }
        assert!(start.permitted() && !start.must_ask());
        start.step(NeutralStartInputs { conditions: false, ..GOOD });
        for _ in 0..HOLD {
            assert_eq!(start.step(GOOD), StartPhase::NotNeutral);
        }
        assert_eq!(start.step(GOOD), StartPhase::Permitted);
        start.reset();
        assert!(start.must_ask() && !start.permitted());
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let hold = Millis::millis(49);
        let error = NeutralStart::new(NeutralStartConfig { hold, ..CONFIG }, TICK).unwrap_err();
        assert_eq!(std::format!("{error}"), "levers neutral for 49 ms: set 50 ms to 5000 ms");
        for frames in [0, 21] {
            let error = NeutralStart::new(NeutralStartConfig { frames, ..CONFIG }, TICK).unwrap_err();
            assert_eq!(error, NeutralStartConfigError::Frames(frames));
        }
    }

    four_verbs! {
        new: |config| NeutralStart::new(config, TICK),
        configs: (CONFIG, NeutralStartConfig { hold: Millis::millis(170), frames: 6 }),
        accepted: [
            NeutralStartConfig { hold: Millis::millis(50), ..CONFIG },
            NeutralStartConfig { hold: Millis::millis(5000), ..CONFIG },
            NeutralStartConfig { frames: 1, ..CONFIG },
            NeutralStartConfig { frames: 20, ..CONFIG },
        ],
        refused: [
            NeutralStartConfig { hold: Millis::millis(49), ..CONFIG } => "levers neutral for 49 ms: set 50 ms to 5000 ms",
            NeutralStartConfig { hold: Millis::millis(5001), ..CONFIG } => "levers neutral for 5001 ms: set 50 ms to 5000 ms",
            NeutralStartConfig { frames: 0, ..CONFIG } => "0 neutral frames: set 1 to 20",
            NeutralStartConfig { frames: 21, ..CONFIG } => "21 neutral frames: set 1 to 20",
        ],
        inputs: inputs(),
        step: |block, inputs| (block.step(inputs), block.phase(), block.permitted(), block.must_ask()),
        reset: |block| block.reset(),
    }
}
