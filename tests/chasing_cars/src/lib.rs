//! The hunt against the benchmark "chasing cars" of the ARCH-COMP falsification category.
//!
//! The model is J. Hu, J. Lygeros, S. Sastry, "Towards a theory of stochastic hybrid systems", HSCC 2000, as the
//! competition's public model file has it, signs included. Formulas as in the competition's reports (from memory).
//! `cargo run --release -p chasing-cars` writes the table of the README; tests run a short mode.

pub mod formulas;
pub mod model;
pub mod table;

pub use formulas::Formula;
pub use model::{Cars, Course};
