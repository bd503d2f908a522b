//! Twins of the room `timing`.

pub mod hour_meter;
pub mod hysteresis;
pub mod off_delay;
pub mod on_delay;
