//! Blocks of the room `valve`.

pub mod coil;
pub mod coil_monitor;
pub mod coil_pair;
pub mod current_loop;
pub mod current_map;
pub mod dither;
pub mod excess_current;
pub mod pair_exclusion;
pub mod peak_and_hold;
pub mod start_up_test;
pub mod test_pulse;
