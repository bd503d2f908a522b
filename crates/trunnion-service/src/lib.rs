//! What a tester may see and do: a diagnostic server after ISO 14229-1 over one [`Link`](trunnion_can::iso_tp::Link).
//!
//! | module | holds |
//! |---|---|
//! | [`served`] | what a machine shows and lets be done: parameters, signals, faults, routines |
//! | [`identifier`] | which identifier reads what |
//! | [`faults`] | which code is of which fault |
//! | [`level`] | who may do what, and the machine's standing that it needs |
//! | [`access`] | challenge and code, attempts, lock-out |
//! | `access_code` (feature) | the code that belongs to a challenge: for boards and testers |
//! | [`routine`] | what a routine says of itself; calibration of a lever, straight-line learn |
//! | [`work`] | slow work by ticket: flash and code checks, ordered in outputs, reported in inputs |
//! | [`log_keeper`] | the fault log in flash: read at start, written when it has changed and the machine rests |
//! | [`server`] | requests in, answers out, once a period |
//! | [`station`] | the controller on the bus: address, fault messages, requests of groups, and the server |
//!
//! Reading is free. A session belongs to the tester who opened it; to others it is the default one, but anyone may end it
//! and stop what moves. Writing is staged and takes effect with one commit, all or nothing; it needs the extended session,
//! an unlocked level, and a machine at rest in neutral. Motion on purpose (routines, output control) has a dead-man of
//! its own that only the tester who began it keeps up; so has a routine that only measures. What a routine has learnt is
//! staged like a write. Silence ends the session, locks the level, drops what was staged
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
#[cfg(feature = "access-code")]
pub mod access_code;
mod answer;
pub mod faults;
pub mod identifier;
pub mod level;
pub mod log_keeper;
mod motion;
pub mod negative;
pub mod routine;
pub mod served;
pub mod server;
mod staging;
pub mod station;
#[cfg(test)]
mod test_machine;
pub mod work;

pub use negative::Negative;
