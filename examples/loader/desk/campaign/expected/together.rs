//! What two failures at once may bring beyond what each may bring in that state. A sample of pairs has been looked at, not all.

use trunnion_rig::campaign::{OneThing, Together};

const COILS: &str = "*_pump_*|boom_*|bucket_*|auxiliary_*";
const STARTED_WITH: &str = "a controller that starts anew tests its coils: one that is not sound then stays out until the next \
                            start";
const CUT_WITH: &str = "a coil supply that is cut for the other failure seems to be there still: told, and kept cut until the \
                        next start";

const fn start(one: (&'static str, &'static str)) -> Together {
    Together {
        one,
        other: (COILS, "open|short_to_ground|return_to_ground|intermittent|stuck|high_resistance"),
        state: "*",
        also: &["does not come back"],
        hazard: STARTED_WITH,
    }
}

const fn cut(one: (&'static str, &'static str)) -> Together {
    Together { one, other: ("*", "*"), state: "*", also: &["CutOffStuckOn"], hazard: CUT_WITH }
}

const fn of(
    one: (&'static str, &'static str),
    other: (&'static str, &'static str),
    state: &'static str,
    also: &'static [&'static str],
    hazard: &'static str,
) -> Together {
    Together { one, other, state, also, hazard }
}

const NOT_HEARD: &str = "a controller that starts anew while a lever is not heard has never seen it";
const ROLLS_OUT: &str = "a direction wire that is broken shows when the machine stops in reverse: the alarm follows the motors then, \
                         and is silent while it rolls out";
const EACH_OTHER: &str = "the pickup of a side is checked by that of the other: two that are broken are not found, standstill is \
                          found late, or the reverse alarm is wrong";

/// A unit and its own messages; a coil and a current through it from elsewhere.
pub const ONE_THING: &[OneThing] = &[
    [("left_lever", "*"), ("left_lever_basic|left_lever_extended", "*")],
    [("right_lever", "*"), ("right_lever_basic|right_lever_extended", "*")],
    [("left_pump_forward", "*"), ("left_pump_forward_current", "stray_current")],
    [("left_pump_reverse", "*"), ("left_pump_reverse_current", "stray_current")],
    [("right_pump_forward", "*"), ("right_pump_forward_current", "stray_current")],
    [("right_pump_reverse", "*"), ("right_pump_reverse_current", "stray_current")],
    [("boom_raise", "*"), ("boom_raise_current", "stray_current")],
    [("boom_lower", "*"), ("boom_lower_current", "stray_current")],
    [("boom_float", "*"), ("boom_float_current", "stray_current")],
    [("bucket_curl", "*"), ("bucket_curl_current", "stray_current")],
    [("bucket_dump", "*"), ("bucket_dump_current", "stray_current")],
    [("auxiliary_a", "*"), ("auxiliary_a_current", "stray_current")],
    [("auxiliary_b", "*"), ("auxiliary_b_current", "stray_current")],
];

/// Pairs.
pub const TOGETHER: &[Together] = &[
    start(("controller_supply", "brown_out|reset|intermittent")),
    start(("parameter_block", "damaged_at_start")),
    cut(("coil_supply_read_back", "stuck|drift|out_of_range")),
    cut(("coil_supply", "short_to_supply")),
    of(
        ("controller_supply|parameter_block", "brown_out|reset|intermittent|damaged_at_start"),
        ("left_lever*|right_lever*|machine_bus", "*"),
        "*",
        &["*LeverNeverSeen"],
        NOT_HEARD,
    ),
    of(("*_motor_reverse", "*"), ("*", "*"), "reversing", &["R-14"], ROLLS_OUT),
    of(("left_motor_edges", "*"), ("right_motor_edges", "*"), "*", &["not answered"], EACH_OTHER),
];
