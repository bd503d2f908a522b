//! Messages of 9 to 1785 bytes (SAE J1939-21, transport protocol): to all (BAM), or to one address under its
//! control (RTS/CTS).

mod announcement;
mod control;
mod receive;
mod send;

pub use announcement::{AbortReason, LARGEST_MESSAGE, SMALLEST_MESSAGE};
pub use receive::{Kind, Message, Receiver, ReceiverConfig, ReceiverConfigError};
pub use send::{SendRefusal, Sender, SenderConfig, SenderConfigError, Sent};

#[cfg(test)]
mod tests;
