//! Twins of the room `sense`.

pub mod changeover;
pub mod current_loop_sensor;
pub mod debounce;
pub mod debounce_bank;
pub mod dual_contact;
pub mod freshness;
pub mod lookup_table;
pub mod low_pass;
pub mod median;
pub mod period_speed;
pub mod pulse_speed;
pub mod ratiometric;
pub mod redundant_pair;
pub mod span;
pub mod speed_comparison;
