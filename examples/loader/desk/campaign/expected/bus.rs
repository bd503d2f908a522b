//! What comes on the bus. A lever sends every 20 ms and is lost after three periods, at most 300 ms.
//!
//! No message that the loader receives has a counter: there is none to freeze, and no cell for it.

use trunnion_rig::campaign::Rule;

use super::{detected, tolerated, undetectable, with};

const FROZEN: &str = "a lever whose frames go on with data that no longer changes looks like one that is held still: \
                      the machine goes on until bar, seat, brake switch or emergency stop";
const THUMB_WHEEL: &str = "a second sender of the thumb-wheel's message drives the auxiliary";

/// Lever units with their plugs, and their messages one by one.
pub const LEVERS: &[Rule] = &[
    detected("left_lever|left_lever_basic", "lost|late", "*", "LeftLeverLost", 100),
    detected("left_lever|left_lever_basic", "error_value|not_available|reserved", "*", "LeftLeverValue", 100),
    detected("left_lever|left_lever_basic", "inconsistent", "*", "LeftLeverInconsistent", 100),
    detected("left_lever|left_lever_basic", "duplicated", "*", "LeftLeverDuplicated", 150),
    undetectable("left_lever*", "frozen", "*", FROZEN),
    // When an opening lasts for three periods is chance.
    detected("left_lever|left_lever_basic", "intermittent", "*", "LeftLeverLost", 1_000),
    // Two of eight bytes are anything: how soon two frames in a row are no position is chance.
    detected("left_lever|left_lever_basic", "corrupted", "*", "LeftLeverValue|LeftLeverInconsistent", 250),
    // A unit that is coded wrongly says that it is the other one.
    with(
        detected("left_lever|left_lever_basic", "wrong_source", "*", "LeftLeverLost", 100),
        &["RightLeverDuplicated"],
    ),
    detected("left_lever_extended", "wrong_source", "*", "RightLeverDuplicated", 100),
    // A flood drowns what has a higher identifier: the other lever, and the thumb-wheels.
    with(
        detected("left_lever|left_lever_basic", "flooding", "*", "LeftLeverDuplicated", 30),
        &["RightLeverLost"],
    ),
    detected("left_lever_extended", "flooding", "*", "RightLeverLost", 100),
    // The left thumb-wheel works nothing.
    tolerated("left_lever_extended", "*", "*"),
    tolerated("left_lever_extended", "frozen", "*"),
    detected("right_lever*", "lost|late", "*", "RightLeverLost", 100),
    detected("right_lever*", "error_value|not_available|reserved", "*", "RightLeverValue", 100),
    detected("right_lever*", "inconsistent", "*", "RightLeverInconsistent", 100),
    detected("right_lever|right_lever_basic", "duplicated", "*", "RightLeverDuplicated", 150),
    undetectable("right_lever_extended", "duplicated", "*", THUMB_WHEEL),
    undetectable("right_lever*", "frozen", "*", FROZEN),
    detected("right_lever*", "intermittent", "*", "RightLeverLost", 1_000),
    detected(
        "right_lever|right_lever_basic",
        "corrupted",
        "*",
        "RightLeverValue|RightLeverInconsistent",
        250,
    ),
    // One byte in four of the thumb-wheel's message is its position.
    detected("right_lever_extended", "corrupted", "*", "RightLeverValue|RightLeverInconsistent", 2_000),
    with(
        detected("right_lever|right_lever_basic", "wrong_source", "*", "RightLeverLost", 100),
        &["LeftLeverDuplicated"],
    ),
    detected("right_lever_extended", "wrong_source", "*", "RightLeverLost", 100),
    with(
        detected("right_lever|right_lever_basic", "flooding", "*", "RightLeverDuplicated", 30),
        &["RightLeverLost"],
    ),
    detected("right_lever_extended", "flooding", "*", "RightLeverDuplicated", 30),
];

const OLD_SPEED: &str = "the engine speed of the bus stands still: the pickup alone is left until the engine changes its \
                         speed, and then they disagree";

/// The engine controller. Before the start-up window is over, nobody is missed.
pub const ENGINE: &[Rule] = &[
    detected("engine_controller", "*", "*", "EngineControllerLost", 150),
    detected("engine_controller", "*", "start_up", "EngineControllerLost", 2_000),
    undetectable("engine_controller", "frozen", "*", OLD_SPEED),
    with(undetectable("engine_controller", "frozen", "start_up", OLD_SPEED), &["EngineSpeedDisagrees"]),
    // The pickup is believed first, and a frame that is wrong now and then is not wrong for long enough.
    tolerated("engine_controller", "corrupted", "*"),
    tolerated("engine_controller", "corrupted", "start_up"),
    detected("engine_controller", "intermittent", "*", "EngineControllerLost", 500),
    detected("engine_controller", "intermittent", "start_up", "EngineControllerLost", 2_000),
    // The engine's message goes before the levers': its flood drowns them.
    with(
        detected("engine_controller", "flooding", "*", "EngineControllerLost", 150),
        &["LeftLeverLost", "RightLeverLost"],
    ),
    with(
        detected("engine_controller", "flooding", "start_up", "EngineControllerLost", 2_000),
        &["LeftLeverLost", "RightLeverLost"],
    ),
];

/// The bus itself. What goes before all others drowns all others.
pub const MACHINE_BUS: &[Rule] = &[
    with(
        detected("machine_bus", "shorted", "*", "BusOff", 20),
        &["LeftLeverLost", "RightLeverLost", "EngineControllerLost"],
    ),
    with(
        detected("machine_bus", "flooding|intermittent", "*", "LeftLeverLost", 100),
        &["RightLeverLost", "EngineControllerLost"],
    ),
];
