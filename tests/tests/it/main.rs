//! Conformance and house rules: one binary, a module for each subject.

mod hydraulics;
mod lags;
mod numbers;
mod oracle;
mod plant_lags;
mod pulse_speed;
mod tidy;
mod trade_units;
