//! What comes on the bus. A lever sends every 10 ms and is lost after three periods, at most 300 ms.

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
    // The left thumb-wheel works nothing.
    tolerated("left_lever_extended", "*", "*"),
    tolerated("left_lever_extended", "frozen", "*"),
    detected("right_lever*", "lost|late", "*", "RightLeverLost", 100),
    detected("right_lever*", "error_value|not_available|reserved", "*", "RightLeverValue", 100),
    detected("right_lever*", "inconsistent", "*", "RightLeverInconsistent", 100),
    detected("right_lever|right_lever_basic", "duplicated", "*", "RightLeverDuplicated", 150),
    undetectable("right_lever_extended", "duplicated", "*", THUMB_WHEEL),
    undetectable("right_lever*", "frozen", "*", FROZEN),
];

const OLD_SPEED: &str = "the engine speed of the bus stands still: the pickup alone is left until the engine changes its \
                         speed, and then they disagree";

/// The engine controller. Before the start-up window is over, nobody is missed.
pub const ENGINE: &[Rule] = &[
    detected("engine_controller", "*", "*", "EngineControllerLost", 150),
    detected("engine_controller", "*", "start_up", "EngineControllerLost", 2_000),
    undetectable("engine_controller", "frozen", "*", OLD_SPEED),
    with(undetectable("engine_controller", "frozen", "start_up", OLD_SPEED), &["EngineSpeedDisagrees"]),
];
