//! From an intent to a spool command.
//!
//! | block | does |
//! |---|---|
//! | [`Spool`] | spreads the lever over the allowed opening |
//! | [`FlowSharing`] | shares the flow of a pump that cannot serve all |
//! | [`EndCushion`] | slows a cylinder before its end |
//! | [`ReturnToPosition`] | brings a cylinder to a set position and stops there |
//! | [`Float`] | lets the boom follow the ground |
//! | [`ContinuousFlow`] | keeps auxiliary flow going without a hand |

mod continuous_flow;
mod end_cushion;
mod float;
mod flow_sharing;
mod return_to_position;
mod spool;

pub use continuous_flow::{
    ContinuousFlow, ContinuousFlowConfig, ContinuousFlowConfigError, ContinuousFlowInputs,
};
pub use end_cushion::{Cushion, EndCushion, EndCushionConfig, EndCushionConfigError};
pub use float::{Float, FloatConfig, FloatConfigError, FloatInputs};
pub use flow_sharing::{FlowConsumer, FlowPriority, FlowSharing, FlowSharingError};
pub use return_to_position::{
    ReturnInputs, ReturnToPosition, ReturnToPositionConfig, ReturnToPositionConfigError,
};
pub use spool::{Spool, SpoolConfig, SpoolConfigError};
