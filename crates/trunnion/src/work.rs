//! From an intent to a spool command.
//!
//! | block | does |
//! |---|---|
//! | [`Spool`] | spreads the lever over the allowed opening |
//! | [`FlowSharing`] | shares the flow of a pump that cannot serve all |
//! | [`AutoLevel`] | keeps the angle of the bucket while the boom moves |
//! | [`EndCushion`] | slows a cylinder before its end |
//! | [`ReturnToPosition`] | brings a cylinder to a set position and stops there |
//! | [`Float`] | lets the boom follow the ground |
//! | [`ContinuousFlow`] | keeps auxiliary flow going without a hand |
//! | [`FanDrive`] | turns the cooler's fan as fast as the hottest medium needs it |

mod auto_level;
mod continuous_flow;
mod end_cushion;
mod fan_drive;
mod float;
mod flow_sharing;
mod return_to_position;
mod spool;

pub use auto_level::{
    AutoLevel, AutoLevelConfig, AutoLevelConfigError, AutoLevelInputs, LevelPoint, LevelWay,
};
pub use continuous_flow::{
    ContinuousFlow, ContinuousFlowConfig, ContinuousFlowConfigError, ContinuousFlowInputs,
};
pub use end_cushion::{Cushion, EndCushion, EndCushionConfig, EndCushionConfigError};
pub use fan_drive::{CooledMedium, FanDrive, FanDriveConfig, FanDriveConfigError};
pub use float::{Float, FloatConfig, FloatConfigError, FloatInputs};
pub use flow_sharing::{FlowConsumer, FlowPriority, FlowSharing, FlowSharingError};
pub use return_to_position::{
    ReturnInputs, ReturnToPosition, ReturnToPositionConfig, ReturnToPositionConfigError,
};
pub use spool::{Spool, SpoolConfig, SpoolConfigError};
