//! Conformance and house rules: one binary, a module for each subject.

mod lags;
mod oracle;
mod plant_lags;
mod tidy;
mod trade_units;
