//! Outputs that are on or off.

use trunnion_rig::campaign::Rule;

use super::{detected, tolerated, undetectable, with};

const WELDED: &str =
    "a relay that is welded, or a coil supply that is fed from elsewhere: found by the next start-up test";
const BRAKE_STAYS_ON: &str = "the park brake does not lift, and the machine drives against it";
const BRAKE_STAYS_OFF: &str = "the park brake does not come on: on a slope a machine without permission creeps as far as \
                               its pumps leak";
const SLOW: &str = "the machine stays in its slow range";
const FAST: &str =
    "the machine goes to its fast range by itself: faster at the same lever, until the operator lets go";
const CRANK: &str =
    "the engine can be cranked with levers off neutral or the brake off; nothing is permitted then";
const SILENT: &str = "the reverse alarm is silent";
const DARK: &str = "a lamp is dark or lit wrongly";

/// The cut-off of the coil supply, valves, starter, alarm and lamps. But for the cut-off, none has a read-back.
pub const OUTPUTS: &[Rule] = &[
    with(
        detected("coil_supply", "open|short_to_ground", "*", "CutOffStuckOff", 200),
        // A coil that is driven misses its current before the relay is found.
        &["*Open"],
    ),
    // A relay that closes again in time is found when it stays open for longer.
    with(detected("coil_supply", "intermittent", "*", "CutOffStuckOff", 1_000), &["*Open"]),
    undetectable("coil_supply", "short_to_supply", "*", WELDED),
    undetectable("park_brake_valve", "open|short_to_ground|intermittent", "*", BRAKE_STAYS_ON),
    undetectable("park_brake_valve", "short_to_supply", "*", BRAKE_STAYS_OFF),
    undetectable("two_speed_valve", "open|short_to_ground|intermittent", "*", SLOW),
    undetectable("two_speed_valve", "short_to_supply", "*", FAST),
    with(
        undetectable("two_speed_valve", "short_to_supply", "driving|reversing|curving", FAST),
        &["moved further"],
    ),
    with(undetectable("two_speed_valve", "short_to_supply", "spinning", FAST), &["turned further"]),
    tolerated("start_permit", "open|short_to_ground|intermittent", "*"),
    undetectable("start_permit", "short_to_supply", "*", CRANK),
    undetectable("reverse_alarm", "open|short_to_ground|intermittent", "*", SILENT),
    tolerated("reverse_alarm", "short_to_supply", "*"),
    undetectable("*_lamp", "*", "*", DARK),
];
