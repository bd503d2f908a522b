//! What a control block costs on a controller: instructions, flash, state, stack.
//!
//! | module | what is in it |
//! |---|---|
//! | [`scale`] | what a block must say about itself to be weighed, and its twins likewise |
//! | [`random`] | streams of inputs that move as a machine moves |
//! | [`loader_bench`] | what wiring and bus bring to the loader |
//! | [`tester`] | what a tester and others bring to its station on the bus |
//! | [`subject`] | every block of the core crate, and the parts of the bus, one file each |
//! | [`float`](mod@float) | the same functions in `f32` |
//! | [`c_twin`] | the same functions by hand in C, on the host |
//!
//! `cargo xtask budget` builds an image for each subject and weighs it.
#![no_std]

pub mod c_twin;
pub mod float;
#[cfg(target_os = "none")]
pub mod image;
pub mod loader_bench;
pub mod random;
pub mod scale;
pub mod subject;
pub mod tester;

/// Every subject: all files of `src/subject`.
pub const SUBJECTS: &[scale::Entry] = include!(concat!(env!("OUT_DIR"), "/subjects.rs"));
/// Every twin in `f32`: all files of `src/float`.
pub const FLOAT_TWINS: &[scale::FloatEntry] = include!(concat!(env!("OUT_DIR"), "/floats.rs"));
