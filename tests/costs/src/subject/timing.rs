//! Blocks of the room `timing`.

pub mod edge;
pub mod falling_edge;
pub mod flasher;
pub mod hour_meter;
pub mod hysteresis;
pub mod off_delay;
pub mod on_delay;
pub mod service_interval;
