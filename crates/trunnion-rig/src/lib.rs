//! Under construction.

pub mod language;
pub mod requirement;
pub mod run;
pub mod scenario;
pub mod trace;
