//! Blocks of the room `guard`.

pub mod cut_off_monitor;
pub mod cut_off_test;
pub mod derate_curve;
pub mod hold_to_run;
pub mod last_gate;
pub mod loop_alive;
pub mod neutral_start;
pub mod park_brake;
pub mod pattern_latch;
pub mod reason_log;
pub mod smallest;
pub mod standstill;
