//! Conditions in, an active set, a log and a lamp out.
//!
//! | block | takes | gives |
//! |---|---|---|
//! | [`FaultTable`] | the raw condition of each declared fault | what is active, its reactions, its blink code |
//! | [`FaultLog`] | the table | when each fault was first and last set, and how often |
//! | [`BlinkCode`] | a code | the lamp, on or off |
//!
//! The rules (times, latches, reactions, codes) stand in the machine's declaration, [`faults!`](crate::faults).

mod blink_code;
mod log;
mod table;

pub use blink_code::{BlinkCode, BlinkCodeConfig, BlinkCodeConfigError};
pub use log::{FaultLog, LogEntry};
pub use table::FaultTable;
