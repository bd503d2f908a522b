//! Under construction.

pub mod bristle;
pub mod charge;
pub mod coil_map;
pub mod config_error;
pub mod engine;
pub mod lag;
pub mod law;
pub mod line;
pub mod motor;
pub mod pump;
pub mod random;
pub mod torque_curve;
pub mod units;
