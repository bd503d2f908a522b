//! Twins of the room `fault`.

pub mod blink_code;
pub mod table;
