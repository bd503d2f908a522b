//! The loader's control program on a bench.

mod cab;
mod permission;
mod properties;
mod set_up;
