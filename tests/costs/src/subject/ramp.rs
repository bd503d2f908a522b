//! Blocks of the room `ramp`.

pub mod controlled_stop;
pub mod derate_ramp;
pub mod independent_ramps;
pub mod jerk_limit;
pub mod motion_ramp;
pub mod pair_ramp;
pub mod rate_limit;
