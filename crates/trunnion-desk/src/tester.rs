//! A controller over its service port, as an engineer's tool sees it.
//!
//! | module | job |
//! |---|---|
//! | [`port`] | a bus behind a TCP port, a serial adaptor or SocketCAN |
//! | [`conversation`] | requests and answers over ISO 15765-2, patient with "pending" |
//! | [`refusal`] | why something was not done, and what to do |
//! | [`key`] | the unit's key, and the code that belongs to a challenge |
//! | [`unit`](mod@unit) | parameters, signals, faults and routines by name |
//! | [`values`] | raw values as text with their unit, and back |
//! | [`settings`] | a parameter set in a text file, and what it would change |
//! | [`guidance`] | what a person is told while a routine runs, and when it has ended |
//! | [`hold`] | the hand on the key that keeps a motion going |

pub mod conversation;
pub mod guidance;
pub mod hold;
pub mod key;
pub mod port;
pub mod refusal;
pub mod settings;
pub mod unit;
pub mod values;
