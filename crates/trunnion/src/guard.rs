//! Who may move, and why not.
//!
//! | block | says |
//! |---|---|
//! | [`NeutralStart`] | levers were let go of, and motion was asked for |
//! | [`PermissionGroup`] | a group of functions may move, how it is stopped, and why not |
//! | [`StationLatch`] | whose levers count |
//! | [`PatternLatch`] | which lever pattern is in force |
//! | [`Standstill`] | the machine stands |
//! | [`ParkBrake`] | the brake may open, must close |
//! | [`Lock`] | the operator has locked it out |
//! | [`ImmediateStop`] | everything is off until it is reset by hand |
//! | [`HoldToRun`] | the control is held, and was pressed for it |
//! | [`LastGate`] | current may flow, and where it flows though it may not |
//! | [`CutOffTest`], [`CutOffMonitor`] | the supply of the coils can be cut |
//! | [`DerateCurve`], [`smallest`] | how much is allowed |
//! | [`LoopAlive`] | the loop keeps its period |
//! | [`Reasons`] | why not |
//! | [`ReasonLog`] | why not, in the time before a stop |
//!
//! Times are counted from the first step that saw a condition, so no wait is shorter than asked.

mod cut_off;
mod cut_off_monitor;
mod derate;
mod hold_to_run;
mod immediate_stop;
mod last_gate;
mod lock;
mod loop_alive;
mod neutral_start;
mod park_brake;
mod pattern_latch;
mod permission_group;
mod reason_log;
mod reasons;
mod standstill;
mod station_latch;

pub use cut_off::{CutOffState, CutOffTest, CutOffTestConfig, CutOffTestConfigError};
pub use cut_off_monitor::{CutOffMonitor, CutOffMonitorConfig, CutOffMonitorConfigError};
pub use derate::{DerateCurve, DerateCurveConfig, DerateCurveConfigError, smallest};
pub use hold_to_run::{HoldState, HoldToRun, HoldToRunConfig, HoldToRunConfigError};
pub use immediate_stop::{ImmediateStop, ImmediateStopConfig, ImmediateStopConfigError, StopState};
pub use last_gate::{GateState, LastGate, LastGateConfig, LastGateConfigError};
pub use lock::{Lock, LockConfig, LockConfigError, LockStart, LockState};
pub use loop_alive::{LoopAlive, LoopAliveConfig, LoopAliveConfigError};
pub use neutral_start::{
    NeutralStart, NeutralStartConfig, NeutralStartConfigError, NeutralStartInputs, StartPhase,
};
pub use park_brake::{ParkBrake, ParkBrakeConfig, ParkBrakeConfigError, ParkBrakeInputs, ParkBrakeState};
pub use pattern_latch::{PatternLatch, PatternLatchConfig, PatternLatchConfigError, PatternState};
pub use permission_group::{
    Permission, PermissionGroup, PermissionGroupConfig, PermissionGroupConfigError, PermissionGroupInputs,
    StartReasons, StopKind,
};
pub use reason_log::{ReasonEntry, ReasonLog, ReasonLogConfig, ReasonLogConfigError};
pub use reasons::Reasons;
pub use standstill::{Standstill, StandstillConfig, StandstillConfigError};
pub use station_latch::{
    StationLatch, StationLatchConfig, StationLatchConfigError, StationLatchInputs, StationState,
};
