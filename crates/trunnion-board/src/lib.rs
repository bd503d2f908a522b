//! The shell around a machine on a Cortex-M board, and the wire over which a host steps it.
//!
//! A host that has a simulated machine sends what the wiring brings, period by period; the board runs the very
//! same control program and answers all that it drives. The host has its own copy of the program: as long as
//! the answers are equal, bit for bit, the loop is closed through the board.
//!
//! | module | job |
//! |---|---|
//! | [`bits`] | bits in bytes |
//! | [`delta`] | values as differences: a run of unchanged ones costs a few bits |
//! | [`record`] | records and their history as differences |
//! | [`frame`] | bytes on the wire: delimiter, check sum |
//! | [`message`] | kinds of messages, sequence numbers, reasons of refusal |
//! | [`layout`] | a number that tells two declarations apart |
//! | [`target`] | the board's end: takes a message, steps the machine, gives the answer |
//! | `state_bytes` | a state as bytes, with the feature `black-box` |
//! | `black_box` | the last seconds before a fault, with the same feature |
//! | [`host`] | the other end: what to send, what the answer says |
//!
//! With the feature `mps2`, on the bare target, there is the shell itself: one line makes an image of a machine.
//!
//! ```text
//! trunnion_board::entry!(loader::Loader);
//! ```
//!
//! The wire is measured for QEMU's serial port, where a byte to the board costs some 10 to 40 µs and a byte
//! from it 2 to 8 µs: few bytes matter more than few instructions.
#![no_std]
#![deny(unsafe_code)]
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

pub mod bits;
#[cfg(feature = "black-box")]
pub mod black_box;
pub mod delta;
pub mod frame;
pub mod host;
pub mod layout;
pub mod message;
pub mod record;
#[cfg(feature = "black-box")]
pub mod state_bytes;
pub mod target;

#[cfg(all(feature = "mps2", target_os = "none"))]
pub mod mps2;
