//! How fast a command may change: the last stage that remembers.
//!
//! | block | for |
//! |---|---|
//! | [`RateLimit`] | one command, one time each way |
//! | [`MotionRamp`] | one motion, times by direction and phase |
//! | [`PairRamp`] | a drive: both sides together |
//! | [`ControlledStop`] | one command, to zero in a stated time |
//! | [`DerateRamp`] | a share that is withdrawn and given back |
//! | [`JerkLimit`] | one command, without a jolt at either end |
//! | [`IndependentRamps`] | to be compared with it |
//!
//! Only `reset` goes past a ramp, and it goes to zero.

mod controlled_stop;
mod derate_ramp;
mod fine;
mod independent_ramps;
mod jerk_limit;
mod motion;
mod motion_ramp;
mod pair;
mod pair_ramp;
mod rate_limit;
mod rates;

pub use controlled_stop::{ControlledStop, ControlledStopConfig, ControlledStopConfigError, StopPhase};
pub use derate_ramp::{DerateRamp, DerateRampConfig, DerateRampConfigError};
pub use independent_ramps::IndependentRamps;
pub use jerk_limit::{JerkLimit, JerkLimitConfig, JerkLimitConfigError};
pub use motion::{MotionPhase, MotionState, StopRequest};
pub use motion_ramp::{MotionRamp, MotionRampConfig, MotionRampConfigError};
pub use pair_ramp::{PairRamp, PairRampConfig, PairRampConfigError};
pub use rate_limit::{RateLimit, RateLimitConfig, RateLimitConfigError};
pub use rates::{LONGEST_DWELL, LONGEST_RAMP, MotionRates, MotionRatesError, SHORTEST_RAMP};
