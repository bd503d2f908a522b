//! Blocks of the room `guard`.

pub mod cut_off;
pub mod cut_off_monitor;
pub mod derate;
pub mod hold_to_run;
pub mod immediate_stop;
pub mod last_gate;
pub mod lock;
pub mod loop_alive;
pub mod neutral_start;
pub mod park_brake;
pub mod pattern_latch;
pub mod permission_group;
pub mod reason_log;
pub mod smallest;
pub mod standstill;
pub mod station_latch;
