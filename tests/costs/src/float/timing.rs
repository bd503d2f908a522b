//! Twins of the room `timing`.

pub mod flasher;
pub mod hour_meter;
pub mod hysteresis;
pub mod off_delay;
pub mod on_delay;
