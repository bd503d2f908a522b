//! What became of a cell.

use serde::{Deserialize, Serialize};

/// Both coils of a pair were on.
pub const PAIR: &str = "both of a pair";
/// A group was driven although its permission was gone for longer than a stop lasts.
pub const UNPERMITTED: &str = "driven without permission";
/// The machine moved after the mending although nothing was permitted.
pub const MOVED_AFTER_MENDING: &str = "moved after the mending";
/// Permission came while a lever of its group was held.
pub const LEVER_HELD: &str = "permitted with a lever held";
/// Permission was lost that a sound machine keeps.
pub const STOPPED: &str = "stopped";
/// Permission was there that a sound machine does not have.
pub const PERMITTED: &str = "permitted unlike a sound machine";
/// It went further than the state allows, as long as it might drive.
pub const MOVED: &str = "moved further";
/// It turned further than the state allows, as long as it might drive.
pub const TURNED: &str = "turned further";
/// It took longer to stop than the state allows.
pub const STOPPED_LATE: &str = "stopped late";
/// A part moved further than it may.
pub const LIMB: &str = "a part moved further";
/// Of two failures neither was answered in time: the one hides the other. Of a single failure that is wrong whatever is declared.
pub const UNANSWERED: &str = "not answered";
/// It did not come back after the mending.
pub const GONE: &str = "does not come back";

/// Everything but faults and requirements that can be wrong about a cell, as [`Rule::also`](super::Rule::also) names it.
pub const DEVIATIONS: &[&str] = &[
    PAIR,
    UNPERMITTED,
    MOVED_AFTER_MENDING,
    LEVER_HELD,
    STOPPED,
    PERMITTED,
    MOVED,
    TURNED,
    STOPPED_LATE,
    LIMB,
    UNANSWERED,
    GONE,
];

/// What became of a cell. Times are from the break on, ms.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Measured {
    /// Faults that came up, in their order.
    pub faults: Vec<(String, u32)>,
    /// Requirements, and rules for all machines, that were violated after the break.
    pub violated: Vec<String>,
    /// Permissions lost that the sound machine keeps, before anything is mended.
    pub lost: Vec<(String, u32)>,
    /// Reasons for having no permission that the sound machine does not give, before anything is mended.
    pub reasons: Vec<(String, u32)>,
    /// Permissions that came before the levers were let go although the sound machine has none.
    pub gained: Vec<(String, u32)>,
    /// From when on nothing was driven any more until the signal was mended; `None` when it was driven on.
    pub off_after_ms: Option<u32>,
    /// Metres of the way more than the sound machine's, as long as it might drive.
    pub metres_more: f64,
    /// Degrees by which the heading left that of the sound machine, as long as it might drive.
    pub degrees_more: f64,
    /// Metres from the loss of permission on.
    pub stop_metres: f64,
    /// Degrees from the loss of permission on.
    pub stop_degrees: f64,
    /// Parts that moved further than they may, and by how much.
    pub limbs: Vec<(String, f64)>,
    /// Permissions of the sound machine that were missing at the end, long after the mending.
    pub missing: Vec<String>,
}
