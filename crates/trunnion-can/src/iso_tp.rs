//! Messages of up to 4095 bytes between a controller and one tester (ISO 15765-2, classic CAN).

mod addressing;
mod link;
mod receive;
mod send;

pub use addressing::{Addressing, Sender};
pub use link::{Link, LinkConfig, LinkConfigError, LinkTrouble, Request, SendRefusal};

/// Most bytes of a message with a 12-bit length.
pub const LARGEST_MESSAGE: u16 = 4095;

#[cfg(test)]
mod tests;
