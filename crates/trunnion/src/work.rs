//! From an intent to a spool command.
//!
//! | block | does |
//! |---|---|
//! | [`Spool`] | spreads the lever over the allowed opening |
//! | [`Float`] | lets the boom follow the ground |
//! | [`ContinuousFlow`] | keeps auxiliary flow going without a hand |

mod continuous_flow;
mod float;
mod spool;

pub use continuous_flow::{
    ContinuousFlow, ContinuousFlowConfig, ContinuousFlowConfigError, ContinuousFlowInputs,
};
pub use float::{Float, FloatConfig, FloatConfigError, FloatInputs};
pub use spool::{Spool, SpoolConfig, SpoolConfigError};
