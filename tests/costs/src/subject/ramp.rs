//! Blocks of the room `ramp`.

pub mod rate_limit;
