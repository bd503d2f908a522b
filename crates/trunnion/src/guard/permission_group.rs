//! A group of functions with a permission of its own: neutral start, stop, last gate.

use super::{
    GateState, LastGate, LastGateConfig, LastGateConfigError, NeutralStart, NeutralStartConfig,
    NeutralStartConfigError, NeutralStartInputs, Reasons, StartPhase,
};
use crate::quantity::{Milliamps, Period};

crate::choices! {
    /// How a group is being stopped.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum StopKind {
        /// It is not.
        None = "none",
        /// Along its stop ramp.
        Controlled = "controlled",
        /// In the same period, by the last gate.
        Immediate = "immediate",
    }
}

/// The bits under which a machine tells the reasons that the group finds by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct StartReasons {
    /// A controlled stop is under way and has to end first.
    pub stopping: u8,
    /// A lever of the group is not neutral, or was not for long enough.
    pub not_neutral: u8,
    /// The operator has not asked for it.
    pub not_asked: u8,
}

impl StartReasons {
    const fn are_told_apart(self) -> bool {
        let Self { stopping, not_neutral, not_asked } = self;
        let each_has_a_bit =
            stopping < Reasons::CAPACITY && not_neutral < Reasons::CAPACITY && not_asked < Reasons::CAPACITY;
        each_has_a_bit && stopping != not_neutral && not_neutral != not_asked && not_asked != stopping
    }
}

/// Rules of a [`PermissionGroup`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct PermissionGroupConfig {
    /// Of its neutral start.
    pub start: NeutralStartConfig,
    /// Of its last gate.
    pub gate: LastGateConfig,
    /// What its own reasons are called.
    pub reasons: StartReasons,
}

/// Why a [`PermissionGroupConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PermissionGroupConfigError {
    /// The neutral start.
    Start(NeutralStartConfigError),
    /// The last gate.
    Gate(LastGateConfigError),
    /// Two reasons share a bit, or one has none: bits are 0 to 31.
    Reasons(StartReasons),
}

impl core::fmt::Display for PermissionGroupConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::Start(error) => write!(formatter, "{error}"),
            Self::Gate(error) => write!(formatter, "{error}"),
            Self::Reasons(given) => write!(
                formatter,
                "reasons in bits {}, {} and {}: give each a bit of its own, 0 to {}",
                given.stopping,
                given.not_neutral,
                given.not_asked,
                Reasons::CAPACITY.saturating_sub(1)
            ),
        }
    }
}

impl core::error::Error for PermissionGroupConfigError {}

/// What decides over a group in one period.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PermissionGroupInputs {
    /// What stands against it.
    pub reasons: Reasons,
    /// Those of all reasons that stop it at once; the others stop it along its ramp.
    pub immediate: Reasons,
    /// Its levers are released.
    pub neutral: bool,
    /// Every lever of the group was heard anew.
    pub new_frame: bool,
    /// The operator asks for it now.
    pub ask: bool,
    /// The operator must ask again before the next start.
    pub ask_required: bool,
}

/// Permission of a group after a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Permission {
    /// It may move.
    pub permitted: bool,
    /// How it is being stopped.
    pub stop: StopKind,
    /// Where its neutral start stands.
    pub phase: StartPhase,
    /// All conditions that must change before it may move: each of these, and nothing else.
    pub why_not: Reasons,
}

/// A group of functions that get their permission together and lose it together: a drive, a boom with its bucket.
///
/// [`step`](Self::step) comes before the group's ramps, [`gate`](Self::gate) behind them:
/// - without reasons against it, a [`NeutralStart`] gives the permission;
/// - any reason takes it away in the same step: at once where it is one of `immediate`, else by a controlled stop, in
///   which the caller asks the ramps for zero and the gate stays open until they are there;
/// - a reason of `immediate` that comes during a controlled stop ends it, and the gate closes;
/// - a controlled stop ends before the permission can return;
/// - `why_not` is empty exactly while it is permitted.
///
#[doc = include_str!("../../docs/guard-permission_group.svg")]
///
/// ```
/// use trunnion::guard::*;
/// use trunnion::quantity::{Milliamps, Millis, Period};
///
/// const TICK: Period = Period::from_micros(10_000).unwrap();
/// const SEAT_EMPTY: u8 = 3;
/// let config = PermissionGroupConfig {
///     start: NeutralStartConfig { hold: Millis::millis(100), frames: 3 },
///     gate: LastGateConfig { decay: Millis::millis(50), stray: Milliamps::new(150).unwrap() },
///     reasons: StartReasons { stopping: 0, not_neutral: 1, not_asked: 2 },
/// };
/// let mut drive = PermissionGroup::new(config, TICK).unwrap();
/// let seated = PermissionGroupInputs { neutral: true, new_frame: true, ..Default::default() };
/// for _ in 0..11 {
///     drive.step(seated);
/// }
/// let asked = drive.step(PermissionGroupInputs { ask: true, ..seated });
/// assert!(asked.permitted && drive.gate(&asked, true, Milliamps::ZERO) == GateState::Open);
///
/// let left = drive.step(PermissionGroupInputs { reasons: Reasons::none().with(SEAT_EMPTY), ..seated });
/// assert_eq!(left.stop, StopKind::Controlled);
/// assert_eq!(drive.gate(&left, false, Milliamps::ZERO), GateState::Open); // while the ramp comes down
/// assert_eq!(drive.gate(&left, true, Milliamps::ZERO), GateState::Closed);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct PermissionGroup {
    start: NeutralStart,
    gate: LastGate,
    reasons: StartReasons,
    stop: StopKind,
}

impl PermissionGroup {
    /// Not permitted. Refuses what its parts refuse, and reasons that cannot be told apart.
    ///
    /// # Errors
    ///
    /// [`PermissionGroupConfigError`]: which rule the config breaks, with its value.
    pub const fn new(
        config: PermissionGroupConfig,
        period: Period,
    ) -> Result<Self, PermissionGroupConfigError> {
        if !config.reasons.are_told_apart() {
            return Err(PermissionGroupConfigError::Reasons(config.reasons));
        }
        let start = match NeutralStart::new(config.start, period) {
            Ok(start) => start,
            Err(error) => return Err(PermissionGroupConfigError::Start(error)),
        };
        match LastGate::new(config.gate, period) {
            Ok(gate) => Ok(Self { start, gate, reasons: config.reasons, stop: StopKind::None }),
            Err(error) => Err(PermissionGroupConfigError::Gate(error)),
        }
    }

    /// Other rules as a whole; permission, stop and gate stay as they are.
    ///
    /// # Errors
    ///
    /// [`PermissionGroupConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: PermissionGroupConfig) -> Result<(), PermissionGroupConfigError> {
        if !config.reasons.are_told_apart() {
            return Err(PermissionGroupConfigError::Reasons(config.reasons));
        }
        let mut next = *self;
        next.start.reconfigure(config.start).map_err(PermissionGroupConfigError::Start)?;
        next.gate.reconfigure(config.gate).map_err(PermissionGroupConfigError::Gate)?;
        next.reasons = config.reasons;
        *self = next;
        Ok(())
    }

    /// Not permitted, gate closed, nothing is being stopped; the operator must ask again.
    pub fn reset(&mut self) {
        self.start.reset();
        self.gate.reset();
        self.stop = StopKind::None;
    }

    /// One period, before the ramps.
    pub fn step(&mut self, inputs: PermissionGroupInputs) -> Permission {
        let was_permitted = self.start.permitted();
        let stopping = self.stop == StopKind::Controlled;
        let reasons = inputs.reasons.with_if(self.reasons.stopping, stopping);
        let phase = self.start.step(NeutralStartInputs {
            conditions: reasons.is_empty(),
            neutral: inputs.neutral,
            new_frame: inputs.new_frame,
            ask: inputs.ask,
            ask_required: inputs.ask_required,
        });
        let permitted = phase == StartPhase::Permitted;
        self.stop = if permitted {
            StopKind::None
        } else if !reasons.intersection(inputs.immediate).is_empty() {
            StopKind::Immediate
        } else if was_permitted {
            StopKind::Controlled
        } else {
            self.stop
        };
        let why_not = if permitted { Reasons::none() } else { self.why_not(reasons, inputs.neutral) };
        Permission { permitted, stop: self.stop, phase, why_not }
    }

    fn why_not(&self, reasons: Reasons, neutral: bool) -> Reasons {
        let held = !neutral || self.start.phase() == StartPhase::NotNeutral;
        reasons.with_if(self.reasons.not_neutral, held).with_if(self.reasons.not_asked, self.start.must_ask())
    }

    /// One period, behind the ramps: the gate is open while permitted, and in a controlled stop until the ramps are at
    /// zero. `measured` is the largest current of the group.
    pub fn gate(&mut self, permission: &Permission, ramps_at_zero: bool, measured: Milliamps) -> GateState {
        if self.stop == StopKind::Controlled && ramps_at_zero {
            self.stop = StopKind::None;
        }
        let open = permission.permitted || self.stop == StopKind::Controlled;
        self.gate.step(open, measured)
    }
}

#[cfg(test)]
mod tests;
