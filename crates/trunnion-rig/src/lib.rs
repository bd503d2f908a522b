//! Under construction.
pub mod plant;
