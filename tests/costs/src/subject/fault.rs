//! Blocks of the room `fault`.

pub mod blink_code;
pub mod log;
pub mod table;
