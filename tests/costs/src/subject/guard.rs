//! Blocks of the room `guard`.

pub mod cut_off;
pub mod cut_off_monitor;
pub mod derate;
pub mod hold_to_run;
pub mod last_gate;
pub mod loop_alive;
pub mod neutral_start;
pub mod park_brake;
pub mod pattern_latch;
pub mod reason_log;
pub mod smallest;
pub mod standstill;
