//! What the machine bus carries for this controller.

use trunnion_can::layout::{
    ACKNOWLEDGEMENT, ACTIVE_TROUBLE_CODES, ADDRESS_CLAIMED, BASIC_JOYSTICK_1, BusRow, Direction,
    ELECTRONIC_ENGINE_CONTROLLER_1, EXTENDED_JOYSTICK_1, From, MessageLayout, PREVIOUS_TROUBLE_CODES,
    REQUEST, SERVICE_TO_ALL, SERVICE_TO_ONE, TORQUE_SPEED_CONTROL_1, TRANSPORT_CONTROL, TRANSPORT_PACKET,
};

use super::Parameter;

/// Address of a service tool that is not part of the machine (SAE J1939, from memory).
pub const TOOL_ADDRESS: u8 = 0xF9;
/// All that listen.
const TO_ALL: From = From::Address(255);
const OWN: From = From::Parameter(Parameter::controller_address.id());
const TOOL: From = From::Address(TOOL_ADDRESS);
const LEFT_LEVER: From = From::Parameter(Parameter::left_lever_address.id());
const RIGHT_LEVER: From = From::Parameter(Parameter::right_lever_address.id());
const ENGINE: From = From::Parameter(Parameter::engine_address.id());

const fn heard(unit: &'static str, layout: &'static MessageLayout, from: From, slot: &'static str) -> BusRow {
    BusRow { unit, layout, direction: Direction::Received, from, to: None, slot }
}

const fn asked(layout: &'static MessageLayout, to: From) -> BusRow {
    BusRow { unit: "Tool", layout, direction: Direction::Received, from: TOOL, to: Some(to), slot: "" }
}

const fn sent(layout: &'static MessageLayout, to: Option<From>) -> BusRow {
    BusRow { unit: "Controller", layout, direction: Direction::Sent, from: OWN, to, slot: "" }
}

/// Every message that is received or sent.
pub const MESSAGES: &[BusRow] = &[
    heard("LeftLever", &BASIC_JOYSTICK_1, LEFT_LEVER, "left_lever_basic"),
    heard("LeftLever", &EXTENDED_JOYSTICK_1, LEFT_LEVER, "left_lever_extended"),
    heard("RightLever", &BASIC_JOYSTICK_1, RIGHT_LEVER, "right_lever_basic"),
    heard("RightLever", &EXTENDED_JOYSTICK_1, RIGHT_LEVER, "right_lever_extended"),
    heard("Engine", &ELECTRONIC_ENGINE_CONTROLLER_1, ENGINE, "engine_controller"),
    asked(&REQUEST, OWN),
    asked(&SERVICE_TO_ONE, OWN),
    asked(&SERVICE_TO_ALL, TO_ALL),
    asked(&TRANSPORT_CONTROL, OWN),
    sent(&TORQUE_SPEED_CONTROL_1, Some(ENGINE)),
    sent(&ADDRESS_CLAIMED, Some(TO_ALL)),
    sent(&ACTIVE_TROUBLE_CODES, None),
    sent(&PREVIOUS_TROUBLE_CODES, None),
    sent(&ACKNOWLEDGEMENT, Some(TO_ALL)),
    sent(&SERVICE_TO_ONE, Some(TOOL)),
    sent(&TRANSPORT_CONTROL, Some(TO_ALL)),
    sent(&TRANSPORT_PACKET, Some(TO_ALL)),
];
