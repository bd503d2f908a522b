//! Under construction.

pub mod report;
