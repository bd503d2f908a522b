//! Switches and contacts. Debounced in 30 ms; at start-up the tests are the first reason for half a second more.

use trunnion_rig::campaign::Rule;

use super::{detected, stopped, tolerated, undetectable, with};

const ONE_WIRE: &str = "a contact that is stuck or shorted in its released position (one wire each) is not found: the \
                        switch does not stop the machine; emergency stop and the other switches remain";
const KEY: &str =
    "a key contact that is stuck or shorted does not switch the machine off; the emergency stop remains";

/// A switch that is open when something is wrong: a broken wire stops as the switch would.
macro_rules! releases {
    ($signal:literal, $why:literal, $within:literal, $hazard:ident) => {
        [
            stopped($signal, "open|short_to_ground", "*", $why, $within),
            stopped($signal, "open|short_to_ground", "start_up", $why, 1_000),
            undetectable($signal, "short_to_supply|stuck", "*", $hazard),
        ]
    };
}

const LOCK: [Rule; 3] = releases!("lock_released", "locked", 50, ONE_WIRE);
/// Open for 0.7 s on rough ground is no empty seat.
const SEAT: [Rule; 3] = releases!("seat_occupied", "seat_open", 750, ONE_WIRE);
const BAR: [Rule; 3] = releases!("restraint_bar_down", "restraint_bar_up", 50, ONE_WIRE);
const BRAKE: [Rule; 3] = releases!("park_brake_off", "park_brake_on", 50, ONE_WIRE);

/// Lock, seat, bar, park brake switch and key.
pub const SEAT_AND_BRAKE: &[Rule] = &[
    LOCK[0],
    LOCK[1],
    LOCK[2],
    SEAT[0],
    SEAT[1],
    SEAT[2],
    BAR[0],
    BAR[1],
    BAR[2],
    BRAKE[0],
    BRAKE[1],
    BRAKE[2],
    // A loose contact that opens for longer than the debounce stops as the switch would; a seat that is empty for a moment
    // does not.
    stopped("lock_released", "intermittent", "*", "locked", 100),
    stopped("lock_released", "intermittent", "start_up", "locked", 1_200),
    tolerated("seat_occupied", "intermittent", "*"),
    stopped("restraint_bar_down", "intermittent", "*", "restraint_bar_up", 100),
    stopped("restraint_bar_down", "intermittent", "start_up", "restraint_bar_up", 1_200),
    stopped("park_brake_off", "intermittent", "*", "park_brake_on", 100),
    stopped("park_brake_off", "intermittent", "start_up", "park_brake_on", 1_200),
    stopped("key_on", "intermittent", "*", "key_off", 500),
    stopped("key_on", "open|short_to_ground", "*", "key_off", 50),
    undetectable("key_on", "short_to_supply|stuck", "*", KEY),
];

const ONE_CONTACT: &str = "one of two contacts that stays closed is found when the other one opens, and the machine stops \
                           all the same";

/// Two contacts that open.
pub const EMERGENCY_STOP: &[Rule] = &[
    with(
        detected("emergency_stop_*", "open|short_to_ground|intermittent", "*", "EmergencyStop", 20),
        &["EmergencyStopContacts"],
    ),
    undetectable("emergency_stop_*", "short_to_supply|stuck", "*", ONE_CONTACT),
];

const PRESSED: &str = "a wire of the enable button that touches supply while permission is waited for is read as a press: \
                       the machine is permitted and stands until a lever leaves neutral";
const NO_PATTERN_CHANGE: &str =
    "a contact that rests says nothing until the rocker is turned; then it is found";

/// Enable button and pattern rocker. The rocker may stand between its contacts for 0.2 s; the fault takes 0.3 s more.
pub const PANEL: &[Rule] = &[
    tolerated("enable_button", "open|short_to_ground|stuck|intermittent", "*"),
    tolerated("pattern_*_contact", "intermittent", "*"),
    undetectable("enable_button", "short_to_supply", "*", PRESSED),
    with(
        undetectable("enable_button", "short_to_supply", "not_asked", PRESSED),
        &["permitted unlike a sound machine"],
    ),
    undetectable("pattern_*_contact", "stuck", "*", NO_PATTERN_CHANGE),
    undetectable("pattern_h_contact", "open|short_to_ground", "*", NO_PATTERN_CHANGE),
    detected("pattern_h_contact", "open|short_to_ground", "pattern_change", "PatternRocker", 550),
    detected("pattern_h_contact", "short_to_supply", "*", "PatternRocker", 550),
    undetectable("pattern_h_contact", "short_to_supply", "pattern_change", NO_PATTERN_CHANGE),
    detected("pattern_iso_contact", "open|short_to_ground", "*", "PatternRocker", 550),
    undetectable("pattern_iso_contact", "open|short_to_ground", "pattern_change", NO_PATTERN_CHANGE),
    undetectable("pattern_iso_contact", "short_to_supply", "*", NO_PATTERN_CHANGE),
    detected("pattern_iso_contact", "short_to_supply", "pattern_change", "PatternRocker", 550),
];
