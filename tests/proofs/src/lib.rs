//! What the core crates claim, shown over all inputs and all states rather than by examples.
//!
//! | module | does |
//! |---|---|
//! | [`sweep`], [`maps`] | a map of one input over every raw input |
//! | [`walk`], [`walks`] | a block through every state that it can reach |
//! | [`campaign`] | the property tests of the core crates, a million cases each |
//! | [`catalogue`] | what there is |
//! | [`record`] | what was covered |
//!
//! `cargo xtask prove` runs it.

pub mod campaign;
pub mod catalogue;
pub mod maps;
pub mod progress;
pub mod proof;
pub mod record;
pub mod sources;
pub mod sweep;
pub mod threads;
pub mod walk;
pub mod walks;
