//! Delays and edges.
//!
//! | block | takes | gives |
//! |---|---|---|
//! | [`OnDelay`] | a level | true once it was true for the time |
//! | [`OffDelay`] | a level | true until it was false for the time |
//! | [`RisingEdge`] | a level | true in the step in which it became true |
//! | [`Hysteresis`] | a quantity | true from the upper limit on, false from the lower one |

mod delay;
mod edge;
mod hysteresis;

pub use delay::{DelayConfigError, OffDelay, OffDelayConfig, OnDelay, OnDelayConfig};
pub use edge::RisingEdge;
pub use hysteresis::{Hysteresis, HysteresisConfig, HysteresisConfigError};
