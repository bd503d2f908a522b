//! Frames of a machine's bus: levers, engine, diagnostics (SAE J1939), and a tester's port (ISO 15765-2).
//!
//! | module | takes | gives |
//! |---|---|---|
//! | [`id`] | a 29-bit identifier | priority, parameter group, addresses |
//! | [`layout`] | – | where each field of a message lies, for decoders and databases |
//! | [`joystick`] | eight bytes | axes and buttons of a lever, and back |
//! | [`engine`] | eight bytes | engine speed, and back |
//! | [`frame`] | an identifier and up to eight bytes | a frame that knows whether it is extended |
//! | [`bus_slot`] | two words of a machine's record | a frame, and back |
//! | [`mailbox`] | frames as they come | the latest of each declared message, counted |
//! | [`bus_lever`] | a lever's two messages, once a loop | positions, neutral, health |
//! | [`bus_engine`] | the engine's message, once a loop | speed and health |
//! | [`speed_request`] | a speed asked of the engine | Torque/Speed Control 1, counted and checked |
//! | [`name`], [`address_claim`] | who we are, claims of others | our address, or none |
//! | [`request`] | a request for a group | what to answer, done or not |
//! | [`trouble_code`], [`trouble_list`] | active faults | lamps and codes of DM1 and DM2, and when to send them |
//! | [`transport`] | 9 to 1785 bytes | frames to all or to one address, and back |
//! | [`iso_tp`] | a tester's frames | requests of up to 4095 bytes, and frames of the answer |
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
pub mod bus_slot;
pub mod engine;
pub mod frame;
pub mod id;
pub mod iso_tp;
pub mod joystick;
pub mod layout;
pub mod mailbox;
pub mod name;
pub mod request;
pub mod speed_request;
#[cfg(feature = "snapshot")]
mod standard_id;
pub mod transport;
pub mod trouble_code;
pub mod trouble_list;

pub use arrivals::{FrameFlaw, MessageTimingError};
