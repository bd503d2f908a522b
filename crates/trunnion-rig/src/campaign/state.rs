//! What a machine is doing when something breaks, and what is measured of it.

use serde::{Deserialize, Serialize};

/// After so long what was broken is mended, while the operator still does the same.
pub const MEND_AFTER_MS: u32 = 3_000;
/// So long a cell is watched, from the break on.
pub const WATCHED_MS: u32 = 5_000;

/// What a machine is doing when something breaks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Its name in cells.
    pub name: &'static str,
    /// What it is.
    pub about: &'static str,
    /// Lines of a scenario that bring the machine there: `parameter`, `set`, `at`.
    pub story: &'static str,
    /// When it is there.
    pub seconds: f64,
    /// What must be seen to be true then.
    pub seen: &'static str,
    /// How far the machine may move more than a sound one.
    pub allowed: Allowed,
}

/// How far a machine with something broken may move more than a sound one that is asked for the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowed {
    /// Metres of its way.
    pub metres: f64,
    /// Degrees of its heading.
    pub degrees: f64,
}

/// A group of functions with a permission of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Group {
    /// Yes/no column of its permission.
    pub permission: &'static str,
    /// Columns that drive it: 0 when it is off.
    pub driven_by: &'static [&'static str],
}

/// What a machine declares for its campaign.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charter {
    /// What the machine may be doing.
    pub states: &'static [State],
    /// What is expected of each cell.
    pub rules: &'static [super::Rule],
    /// Groups for the rules that hold for all machines.
    pub groups: &'static [Group],
    /// Columns of which never both may be on.
    pub pairs: &'static [(&'static str, &'static str)],
    /// Longest stop, ms: so long after its permission went a group may still be driven.
    pub longest_stop_ms: u32,
    /// Columns of place and heading, in metres and degrees, if the plant moves in the plane.
    pub path: Option<[&'static str; 3]>,
}

/// What became of a cell.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Measured {
    /// Faults that came up, with the time from the break, ms, in their order.
    pub faults: Vec<(String, u32)>,
    /// Requirements, and rules for all machines, that were violated after the break.
    pub violated: Vec<String>,
    /// From when on nothing was driven any more until the signal was mended, ms; `None` when it was driven on.
    pub off_after_ms: Option<u32>,
    /// Metres of the way more than the sound machine's.
    pub metres_more: f64,
    /// Degrees by which the heading left that of the sound machine.
    pub degrees_off: f64,
    /// Permissions that were lost and came back after the mending, by their columns.
    pub regained: Vec<String>,
}
