//! The harness between a simulated machine and its controller, as the declaration has it: every wire with every way
//! in which its kind can fail.
//!
//! | part | job |
//! |---|---|
//! | [`InputWires`] | contacts, sensors, pickups, measured voltages: from what is true to what the inputs read |
//! | [`SenseWires`] | the current sense of each coil |
//! | [`OutputWires`] | what an on-off output does behind its wire |
//! | [`BreakTable`] | everything that can break, from the declaration and the machine's own units |
//!
//! A machine's plant owns these, tells them the truth, and hands a [`Failure`](trunnion::declare::Failure) to the one that
//! its [`BreakPlace`] names.

mod breaks;
mod failures;
mod inputs;
mod outputs;
mod senses;

pub use breaks::{BreakPlace, BreakTable, breakable};
pub use inputs::InputWires;
pub use outputs::OutputWires;
pub use senses::SenseWires;
