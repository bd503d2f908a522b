//! What the project claims, checked against published sources and independent libraries.
//!
//! The checks are the modules of the one integration test, `tests/it/main.rs`; this library is empty so that
//! nobody can depend on them. `python/` holds the oracles that run in a Python environment with pinned versions:
//! `cargo xtask test` makes it and runs everything; a plain `cargo test` says which checks it skipped.
