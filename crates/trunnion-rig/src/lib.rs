//! Under construction.

pub mod language;
pub mod requirement;
