//! What the machine bus carries for this controller.

use trunnion_can::layout::{BusRow, Direction, ELECTRONIC_ENGINE_CONTROLLER_1, From};

use super::Parameter;

/// Every message that is received.
pub const MESSAGES: &[BusRow] = &[BusRow {
    unit: "Engine",
    layout: &ELECTRONIC_ENGINE_CONTROLLER_1,
    direction: Direction::Received,
    from: From::Parameter(Parameter::engine_address.id()),
    to: None,
    slot: "engine_controller",
}];
