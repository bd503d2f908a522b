//! Twins of the room `lever`.

pub mod axis;
pub mod calibration;
pub mod neutral;
pub mod pattern;
pub mod response_curve;
