//! What two failures at once may bring beyond what each may bring in that state. A sample of pairs has been looked at, not all.

use trunnion_rig::campaign::Together;

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

/// Pairs.
pub const TOGETHER: &[Together] = &[
    start(("controller_supply", "brown_out|reset|intermittent")),
    start(("parameter_block", "damaged_at_start")),
    cut(("coil_supply_read_back", "stuck|drift|out_of_range")),
    cut(("coil_supply", "short_to_supply")),
];
