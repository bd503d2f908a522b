//! The hunt against the benchmark "chasing cars" of the ARCH-COMP falsification category.
//!
//! The model is J. Hu, J. Lygeros, S. Sastry, "Towards a theory of stochastic hybrid systems", HSCC 2000, as the
//! competition's public model file has it, signs included. Model and formulas were checked against the public scripts of
//! three of its participants: `dcc_c.zls` and `cc_bench.zls` (ismailbennani/zlscheck, 2020), `repArch24_2.m`
//! (Abdu-Hekal/FReaK, 2024) and `Cars.kt`, `CC4.main.kts`, `CCx.main.kts` (MasWag/FalCAuN, 2025).
//! `cargo run --release -p chasing-cars` writes the table of the README; tests run a short mode.

pub mod formulas;
pub mod model;
pub mod table;

pub use formulas::Formula;
pub use model::{Cars, Course};
