//! Delays, edges and hours.
//!
//! | block | takes | gives |
//! |---|---|---|
//! | [`OnDelay`] | a level | true once it was true for the time |
//! | [`OffDelay`] | a level | true until it was false for the time |
//! | [`RisingEdge`] | a level | true in the step in which it became true |
//! | [`FallingEdge`] | a level | true in the step in which it became false |
//! | [`Flasher`] | whether to flash | a lamp that is steady, or flashes |
//! | [`HourMeter`] | a level | for how long it was true over the life of the machine |
//! | [`ServiceInterval`] | the total of a meter | whether a service is due |
//! | [`Hysteresis`] | a quantity | true from the upper limit on, false from the lower one |

mod delay;
mod edge;
mod falling_edge;
mod flasher;
mod hour_meter;
mod hysteresis;
mod service_interval;

pub use delay::{DelayConfigError, OffDelay, OffDelayConfig, OnDelay, OnDelayConfig};
pub use edge::RisingEdge;
pub use falling_edge::FallingEdge;
pub use flasher::{Flasher, FlasherConfig, FlasherConfigError};
pub use hour_meter::{HourMeter, Seconds};
pub use hysteresis::{Hysteresis, HysteresisConfig, HysteresisConfigError};
pub use service_interval::{
    ServiceInterval, ServiceIntervalConfig, ServiceIntervalConfigError, ServiceState,
};
