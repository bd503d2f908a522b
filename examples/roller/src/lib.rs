//! Controller of the Ambrewell V84, a single-drum soil compaction roller of 11 t with an articulated frame.
//!
//! Machine, maker and drawing V84-E-200 are inventions of this project. The declaration is in [`declaration`],
//! the control program in [`control`]; both run on a laptop and on the controller.
//!
//! No safety certification is claimed: the machine's risk assessment (ISO 12100, ISO 13849, and for road construction
//! machinery EN 500 or the ISO 20500 series; these last two from memory), local codes and licensed practice decide. Test with drum
//! and wheels off the ground and an emergency stop in reach.
#![cfg_attr(not(feature = "desk"), no_std)]
#![forbid(unsafe_code)]

#[cfg(feature = "desk")]
extern crate self as roller;

pub mod control;
pub mod declaration;
#[cfg(feature = "desk")]
#[path = "../desk/mod.rs"]
pub mod desk;

use trunnion::machine::SafeStart;
use trunnion_can::mailbox::Filter;

use crate::declaration::Parameters;

/// The roller's controller.
pub type Roller = SafeStart<control::Control>;

/// The message that the bus has to bring: that of the engine controller.
pub fn filters(parameters: &Parameters) -> [Filter; 1] {
    let pgn = trunnion_can::id::pgn::ELECTRONIC_ENGINE_CONTROLLER_1;
    [Filter { pgn, source: parameters.engine_address() }]
}
