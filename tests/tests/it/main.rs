//! Conformance and house rules: one binary, a module for each subject.

mod coil_current;
mod engine_message;
mod governor;
mod hydraulics;
mod joined_lags;
mod joystick;
mod joystick_dbc;
mod kinematics;
mod lags;
mod lever_health;
mod low_pass;
mod mixing;
mod numbers;
mod oracle;
mod plant_lags;
mod pulse_speed;
mod ramps;
mod stopping;
mod temporal_logic;
mod tidy;
mod trade_units;
mod written_database;
