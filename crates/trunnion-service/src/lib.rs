//! What a tester may see and do: a diagnostic server after ISO 14229-1 over one [`Link`](trunnion_can::iso_tp::Link).
//!
//! | module | holds |
//! |---|---|
//! | [`served`] | what a machine shows and lets be done: parameters, signals, faults, routines |
//! | [`identifier`] | which identifier reads what |
//! | [`faults`] | which code is of which fault |
//! | [`level`] | who may do what, and the machine's standing that it needs |
//! | [`access`] | challenge and code, attempts, lock-out |
//! | [`work`] | slow work by ticket: flash and code checks, ordered in outputs, reported in inputs |
//! | [`server`] | requests in, answers out, once a period |
//!
//! Reading is free. Writing is staged and takes effect with one commit, all or nothing; it needs the extended session,
//! an unlocked level, and a machine at rest in neutral. Motion on purpose (routines, output control) has a dead-man of
//! its own that only the tester who began it keeps up. Silence ends the session, locks the level, drops what was staged
//! and stops what moves.
//!
//! The server never writes flash and never computes a code: it asks for both, so that a control step stays pure and
//! its time bounded.
#![no_std]
#![forbid(unsafe_code)]
#![cfg_attr(
    not(test),
    deny(
        clippy::arithmetic_side_effects,
        clippy::indexing_slicing,
        clippy::unwrap_used,
        clippy::expect_used,
        clippy::panic,
        clippy::float_arithmetic
    )
)]

#[cfg(test)]
extern crate std;

pub mod access;
mod answer;
pub mod faults;
pub mod identifier;
pub mod level;
mod motion;
mod negative;
pub mod served;
pub mod server;
mod staging;
pub mod work;

pub use negative::Negative;
