//! The harness between a simulated machine and its controller, as the declaration has it: every wire with every way
//! in which its kind can fail.
//!
//! | part | job |
//! |---|---|
//! | [`InputWires`] | contacts, sensors, pickups, measured voltages: from what is true to what the inputs read |
//! | [`SenseWires`] | the current sense of each coil |
//! | [`OutputWires`] | what an on-off output does behind its wire |
//! | [`LooseContacts`] | what opens and closes by chance |
//! | [`FramePath`] | what becomes of a unit's frames on their way to the bus |
//! | [`BreakTable`] | everything that can break, from the declaration and the machine's own units |
//!
//! A machine's plant owns these, tells them the truth, and hands a [`Way`](crate::run::Way) to the one that
//! its [`BreakPlace`] names.

mod breaks;
mod failures;
mod frame_path;
mod inputs;
mod loose;
mod outputs;
mod senses;

pub use breaks::{BreakPlace, BreakTable, breakable};
pub use frame_path::{FLOOD, FramePath};
pub use inputs::InputWires;
pub use loose::LooseContacts;
pub use outputs::OutputWires;
pub use senses::SenseWires;
