//! The same functions in `f32`, by room.

pub mod fault;
pub mod guard;
pub mod lever;
pub mod number;
pub mod path;
pub mod propel;
pub mod ramp;
pub mod sense;
pub mod sides;
pub mod timing;
pub mod valve;
pub mod work;
