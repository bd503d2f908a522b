//! Coils, and the currents that are measured in them. An open coil is invisible without duty, so a pulse at start-up looks
//! for it; a coil that is found open then stays out until restart.

use trunnion_rig::campaign::Rule;

use super::{detected, undetectable, with};

const NOT_DRIVEN: &str = "a coil that is not driven: its side does not move until it is found open when driven, or by the \
                          next start-up test";
const SENSE_RESTS: &str = "a current sense that rests at zero while its coil is off: found when the coil is driven, or by \
                           the next start-up test";

/// What is expected of one coil: its name, its faults, and where it is driven.
macro_rules! coil {
    ($rules:ident, $coil:literal, $fault:literal, $driven:literal, $stuck:expr, $stray:expr) => {
        /// One coil.
        pub const $rules: &[Rule] = &[
            detected($coil, "open|short_to_ground", $driven, concat!($fault, "Open"), 100),
            with(
                detected($coil, "open|short_to_ground", "start_up", concat!($fault, "Open"), 1_000),
                &["does not come back"],
            ),
            undetectable($coil, "open|short_to_ground", "*", NOT_DRIVEN),
            detected(concat!($coil, "_current"), "open", $driven, concat!($fault, "Open"), 100),
            // Controlled blind, the coil is found by its duty first, and its current is kept from the pump by the cut-off.
            with(detected(concat!($coil, "_current"), "stuck", $driven, "StrayCurrent", 700), $stuck),
            with(
                detected(
                    concat!($coil, "_current"),
                    "open|stuck",
                    "start_up",
                    concat!($fault, "Open"),
                    1_000,
                ),
                &["does not come back"],
            ),
            undetectable(concat!($coil, "_current"), "open|stuck", "*", SENSE_RESTS),
            with(
                detected(
                    concat!($coil, "|", $coil, "_current"),
                    "short_to_supply|stray_current",
                    "*",
                    "StrayCurrent",
                    30,
                ),
                $stray,
            ),
        ];
    };
}

coil!(
    LEFT_PUMP_FORWARD,
    "left_pump_forward",
    "LeftPumpForward",
    "driving|spinning|curving|ramping_down|pushing",
    &["LeftPumpForwardCurrent", "LeftPumpForwardShort", "GateDisagrees"],
    &["LeftPumpForwardShort", "GateDisagrees", "R-15", "R-17", "R-46"]
);
coil!(
    LEFT_PUMP_REVERSE,
    "left_pump_reverse",
    "LeftPumpReverse",
    "reversing",
    &["LeftPumpReverseCurrent", "LeftPumpReverseShort", "GateDisagrees"],
    &["LeftPumpReverseShort", "GateDisagrees", "R-15", "R-17", "R-46"]
);
coil!(
    RIGHT_PUMP_FORWARD,
    "right_pump_forward",
    "RightPumpForward",
    "driving|curving|ramping_down|pushing",
    &["RightPumpForwardCurrent", "RightPumpForwardShort", "GateDisagrees"],
    &["RightPumpForwardShort", "GateDisagrees", "R-15", "R-17", "R-46"]
);
coil!(
    RIGHT_PUMP_REVERSE,
    "right_pump_reverse",
    "RightPumpReverse",
    "reversing|spinning",
    &["RightPumpReverseCurrent", "RightPumpReverseShort", "GateDisagrees"],
    &["RightPumpReverseShort", "GateDisagrees", "R-15", "R-17", "R-46"]
);
coil!(
    BOOM_RAISE,
    "boom_raise",
    "BoomRaise",
    "working|service_routine",
    &["BoomRaiseCurrent", "BoomRaiseShort", "GateDisagrees", "R-23"],
    &["BoomRaiseShort", "GateDisagrees", "R-23", "R-46", "a part moved further"]
);
coil!(
    BOOM_LOWER,
    "boom_lower",
    "BoomLower",
    "lowering",
    &["BoomLowerCurrent", "BoomLowerShort", "GateDisagrees", "R-23"],
    &["BoomLowerShort", "GateDisagrees", "R-23", "R-46", "a part moved further"]
);
coil!(
    BOOM_FLOAT,
    "boom_float",
    "BoomFloat",
    "floating",
    &["BoomFloatCurrent", "BoomFloatShort", "GateDisagrees", "R-23"],
    &["BoomFloatShort", "GateDisagrees", "R-23", "R-46", "a part moved further"]
);
coil!(
    BUCKET_CURL,
    "bucket_curl",
    "BucketCurl",
    "lowering",
    &["BucketCurlCurrent", "BucketCurlShort", "GateDisagrees", "R-23"],
    &["BucketCurlShort", "GateDisagrees", "R-23", "R-46", "a part moved further"]
);
coil!(
    BUCKET_DUMP,
    "bucket_dump",
    "BucketDump",
    "working",
    &["BucketDumpCurrent", "BucketDumpShort", "GateDisagrees", "R-23"],
    &["BucketDumpShort", "GateDisagrees", "R-23", "R-46", "a part moved further"]
);
coil!(
    AUXILIARY_A,
    "auxiliary_a",
    "AuxiliaryA",
    "auxiliary",
    &["AuxiliaryACurrent", "GateDisagrees"],
    &["AuxiliaryAShort", "GateDisagrees", "R-46"]
);
coil!(
    AUXILIARY_B,
    "auxiliary_b",
    "AuxiliaryB",
    "lowering",
    &["AuxiliaryBCurrent", "GateDisagrees"],
    &["AuxiliaryBShort", "GateDisagrees", "R-46"]
);

const GAIN: &str = "a current sense whose gain drifts by less than half: its side runs faster or slower, and the operator \
                    steers against it";
const CORRODED: &str =
    "a corroded plug at which the current is still reached: the current loop makes up for it";

/// What is the same for all coils.
pub const ALL: &[Rule] = &[
    undetectable("*_current", "drift", "*", GAIN),
    with(
        undetectable("*_pump_*_current", "drift", "driving|reversing|curving|pushing", GAIN),
        &["turned further"],
    ),
    undetectable("*", "high_resistance", "*", CORRODED),
];
