//! What the hunt may try on the loader.

use trunnion_rig::hunt::{Opening, Range, Territory};

const ISO: &str = "\
set       hand_throttle = 70 %, key = run, operator_seated = yes, restraint_bar = down
set       lock_released = yes, park_brake_switch = off
set       engine_running = yes, pattern_rocker = iso
at 2.4 s  enable_button = yes
at 2.7 s  enable_button = no
";
const H: &str = "\
set       hand_throttle = 70 %, key = run, operator_seated = yes, restraint_bar = down
set       lock_released = yes, park_brake_switch = off
set       engine_running = yes, pattern_rocker = h
at 2.4 s  enable_button = yes
at 2.7 s  enable_button = no
";
const NOT_ASKED: &str = "\
set       hand_throttle = 70 %, key = run, operator_seated = yes, restraint_bar = down
set       lock_released = yes, park_brake_switch = off
set       engine_running = yes
";
const ENGINE_OFF: &str = "\
set       hand_throttle = 70 %, key = run, operator_seated = yes, restraint_bar = down
set       lock_released = yes, park_brake_switch = off
";

const fn range(name: &'static str, low: f64, high: f64) -> Range {
    Range { name, low, high }
}

/// What may be tried. Breaks are those of which the declaration promises that they are detected or harmless; what it
/// names as a residual hazard is the campaign's.
pub const TERRITORY: Territory = Territory {
    openings: &[
        Opening { name: "permitted, ISO pattern", text: ISO, seconds: 3.0 },
        Opening { name: "permitted, H pattern", text: H, seconds: 3.0 },
        Opening { name: "at power-up, nobody has asked yet", text: NOT_ASKED, seconds: 2.0 },
        Opening { name: "engine off, key just turned", text: ENGINE_OFF, seconds: 1.0 },
    ],
    levers: &["left_lever_x", "left_lever_y", "right_lever_x", "right_lever_y", "right_lever_wheel"],
    switches: &[
        "operator_seated",
        "restraint_bar",
        "lock_released",
        "park_brake_switch",
        "emergency_stop",
        "pattern_rocker",
        "key",
    ],
    buttons: &["enable_button", "two_speed_button", "float_button", "continuous_button"],
    dials: &[range("hand_throttle", 0.0, 100.0), range("battery_charge", 40.0, 100.0)],
    surroundings: &[
        range("payload", 0.0, 800.0),
        range("slope", -8.0, 8.0),
        range("oil_temperature", -25.0, 90.0),
        range("coil_temperature", -20.0, 100.0),
    ],
    parameters: &[
        range("left_trim", 0.0, 100.0),
        range("right_trim", 0.0, 100.0),
        range("reverse_convention", 0.0, 1.0),
        range("mix_law", 0.0, 1.0),
        range("pivot_point", 300.0, 800.0),
        range("forward_accelerate", 300.0, 4_000.0),
        range("forward_reverse", 300.0, 3_000.0),
        range("drive_stop", 400.0, 1_200.0),
        range("neutral_hold", 100.0, 500.0),
        range("lever_deadband", 20.0, 150.0),
        range("shift_down_below", 200.0, 800.0),
    ],
    breaks: &[
        "supply_voltage",
        "left_lever",
        "right_lever",
        "engine_controller",
        "charge_pressure_signal",
        "oil_temperature_signal",
        "hand_throttle_signal",
        "emergency_stop_first",
        "emergency_stop_second",
    ],
    situations: &[
        "lever_pattern",
        "permission_drive",
        "permission_work",
        "permission_auxiliary",
        "why_not_drive",
        "stop_drive",
        "motion_state",
        "two_speed_valve",
        "float_active",
        "continuous_active",
        "park_brake_valve",
        "start_permit",
        "reverse_alarm",
        "left_command",
        "right_command",
        "bucket_command",
    ],
    legs: 12,
    longest_leg: 1.5,
    tail: 1.0,
};
