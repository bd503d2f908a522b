//! The same functions in `f32`, by room.
//!
//! A quantity is a float in its natural unit, and so is a time that a block of the rooms `sense`, `guard`, `timing` and
//! `fault` waits: in ms, which a float counts exactly. Blocks with neither have no twin: `timing/edge`,
//! `timing/falling_edge`, `sense/two_phase_direction`, `guard/reason_log` and `fault/log`. `timing/service_interval` has
//! none either: a float does not hold the seconds of a machine's life.

pub mod contact_pair;
pub mod fault;
pub mod guard;
pub mod lever;
pub mod number;
pub mod path;
pub mod propel;
pub mod ramp;
pub mod sense;
pub mod sensed;
pub mod sides;
pub mod timing;
pub mod valve;
pub mod work;
