//! Frames of a machine's bus: identifiers, levers, engine (SAE J1939).
//!
//! | module | takes | gives |
//! |---|---|---|
//! | [`id`] | a 29-bit identifier | priority, parameter group, addresses |
//! | [`joystick`] | eight bytes | axes and buttons of a lever, and back |
//! | [`engine`] | eight bytes | engine speed, and back |
//! | [`mailbox`] | frames as they come | the latest of each declared message, counted |
//! | [`bus_lever`] | a lever's two messages, once a loop | positions, neutral, health |
//! | [`bus_engine`] | the engine's message, once a loop | speed and health |
//!
//! Decoders ignore priority, never fail and never panic: a field that says "error", "not available" or what
//! the standard keeps free is a value of its own, and whoever reads it decides.
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

pub mod address_claim;
mod arrivals;
pub mod bus_engine;
pub mod bus_lever;
pub mod engine;
pub mod frame;
pub mod id;
pub mod joystick;
pub mod mailbox;
pub mod name;
pub mod request;
pub mod speed_request;
pub mod transport;
pub mod trouble_code;
pub mod trouble_list;

pub use arrivals::{FrameFlaw, MessageTimingError};
