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
    ($rules:ident, $coil:literal, $fault:literal, $driven:literal, $stray:expr) => {
        /// One coil.
        pub const $rules: &[Rule] = &[
            detected($coil, "open|short_to_ground|return_to_ground", $driven, concat!($fault, "Open"), 100),
            with(
                detected(
                    $coil,
                    "open|short_to_ground|return_to_ground",
                    "start_up",
                    concat!($fault, "Open"),
                    1_000,
                ),
                &["does not come back"],
            ),
            undetectable($coil, "open|short_to_ground|return_to_ground", "*", NOT_DRIVEN),
            // When an opening lasts for long enough is chance.
            detected(
                concat!($coil, "|", $coil, "_current"),
                "intermittent",
                $driven,
                concat!($fault, "Open"),
                500,
            ),
            undetectable(concat!($coil, "|", $coil, "_current"), "intermittent", "*", NOT_DRIVEN),
            detected(concat!($coil, "_current"), "open", $driven, concat!($fault, "Open"), 100),
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
                    "short_to_supply|stray_current|out_of_range",
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
    &["LeftPumpForwardShort", "GateDisagrees", "R-15", "R-17", "R-46"]
);
coil!(
    LEFT_PUMP_REVERSE,
    "left_pump_reverse",
    "LeftPumpReverse",
    "reversing",
    &["LeftPumpReverseShort", "GateDisagrees", "R-15", "R-17", "R-46"]
);
coil!(
    RIGHT_PUMP_FORWARD,
    "right_pump_forward",
    "RightPumpForward",
    "driving|curving|ramping_down|pushing",
    &["RightPumpForwardShort", "GateDisagrees", "R-15", "R-17", "R-46"]
);
coil!(
    RIGHT_PUMP_REVERSE,
    "right_pump_reverse",
    "RightPumpReverse",
    "reversing|spinning",
    &["RightPumpReverseShort", "GateDisagrees", "R-15", "R-17", "R-46"]
);
coil!(
    BOOM_RAISE,
    "boom_raise",
    "BoomRaise",
    "working|service_routine",
    &["BoomRaiseShort", "GateDisagrees", "R-23", "R-46", "a part moved further"]
);
coil!(
    BOOM_LOWER,
    "boom_lower",
    "BoomLower",
    "lowering",
    &["BoomLowerShort", "GateDisagrees", "R-23", "R-46"]
);
coil!(
    BOOM_FLOAT,
    "boom_float",
    "BoomFloat",
    "floating",
    &["BoomFloatShort", "GateDisagrees", "R-23", "R-46"]
);
coil!(
    BUCKET_CURL,
    "bucket_curl",
    "BucketCurl",
    "lowering",
    &["BucketCurlShort", "GateDisagrees", "R-23", "R-46", "a part moved further"]
);
coil!(
    BUCKET_DUMP,
    "bucket_dump",
    "BucketDump",
    "working",
    &["BucketDumpShort", "GateDisagrees", "R-23", "R-46", "a part moved further"]
);
coil!(AUXILIARY_A, "auxiliary_a", "AuxiliaryA", "auxiliary", &["AuxiliaryAShort", "GateDisagrees", "R-46"]);
coil!(AUXILIARY_B, "auxiliary_b", "AuxiliaryB", "lowering", &["AuxiliaryBShort", "GateDisagrees", "R-46"]);

const SENSE_AT_SET_POINT: &str = "a sense that rests at the current that a coil is asked for looks like a coil that has it; a \
                                  float coil is asked for one current only, and its current is found too high when it is let go";

/// A sense that stands still while its coil is driven. Controlled blind, the current leaves what the duty can explain, and
/// the coil supply is cut.
const fn stands_still(current: &'static str, driven: &'static str, also: &'static [&'static str]) -> Rule {
    with(detected(current, "stuck", driven, "StrayCurrent", 1_000), also)
}

/// Senses that stand still.
pub const STANDING_STILL: &[Rule] = &[
    stands_still(
        "left_pump_forward_current",
        "driving|spinning|curving|ramping_down|pushing",
        &["LeftPumpForwardCurrent", "LeftPumpForwardShort", "GateDisagrees"],
    ),
    stands_still(
        "left_pump_reverse_current",
        "reversing",
        &["LeftPumpReverseCurrent", "LeftPumpReverseShort", "GateDisagrees"],
    ),
    stands_still(
        "right_pump_forward_current",
        "driving|curving|ramping_down|pushing",
        &["RightPumpForwardCurrent", "RightPumpForwardShort", "GateDisagrees"],
    ),
    stands_still(
        "right_pump_reverse_current",
        "reversing|spinning",
        &["RightPumpReverseCurrent", "RightPumpReverseShort", "GateDisagrees"],
    ),
    stands_still(
        "boom_raise_current",
        "working|service_routine",
        &["BoomRaiseCurrent", "BoomRaiseShort", "GateDisagrees", "R-23"],
    ),
    stands_still("boom_lower_current", "lowering", &["BoomLowerCurrent", "GateDisagrees", "R-23"]),
    undetectable("boom_float_current", "stuck", "floating", SENSE_AT_SET_POINT),
    stands_still(
        "bucket_curl_current",
        "lowering",
        &["BucketCurlCurrent", "BucketCurlShort", "GateDisagrees", "R-23"],
    ),
    stands_still(
        "bucket_dump_current",
        "working",
        &["BucketDumpCurrent", "BucketDumpShort", "GateDisagrees", "R-23"],
    ),
    stands_still(
        "auxiliary_a_current",
        "auxiliary",
        &["AuxiliaryACurrent", "AuxiliaryAShort", "GateDisagrees"],
    ),
    stands_still(
        "auxiliary_b_current",
        "lowering",
        &["AuxiliaryBCurrent", "AuxiliaryBShort", "GateDisagrees"],
    ),
];

const GAIN: &str = "a current sense whose gain drifts by less than half: its side runs faster or slower, and the operator \
                    steers against it";
const CORRODED: &str =
    "a corroded plug at which the current is still reached: the current loop makes up for it";

const LOOSE: &str = "a loose plug that is closed when the pulse at start-up comes is not found by it: found when the coil is \
                     driven";

/// What is the same for all coils.
pub const ALL: &[Rule] = &[
    with(
        undetectable("*_pump_*|boom_*|bucket_*|auxiliary_*", "intermittent", "start_up", LOOSE),
        &["*Open", "does not come back"],
    ),
    undetectable("*_current", "drift", "*", GAIN),
    with(
        undetectable("*_pump_*_current", "drift", "driving|reversing|curving|pushing", GAIN),
        &["turned further"],
    ),
    undetectable("*", "high_resistance", "*", CORRODED),
    // The pulse at start-up is at the edge of telling it from an open coil.
    with(
        undetectable("*_pump_*", "high_resistance", "start_up", CORRODED),
        &["*PumpForwardOpen", "*PumpForwardCurrent", "RightPumpReverseCurrent", "does not come back"],
    ),
    // A machine that pushes slides off the pile at the slightest difference of its sides.
    with(undetectable("*_pump_forward", "high_resistance", "pushing", CORRODED), &["turned further"]),
];
