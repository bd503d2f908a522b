//! What a machine is doing when something breaks, and how it comes there.

/// After so long what was broken is mended, while the operator still does the same.
pub const MEND_AFTER_MS: u32 = 3_000;
/// After so long the operator lets go and asks for permission anew, as [`Charter::let_go`] says.
pub const LET_GO_AFTER_MS: u32 = 4_000;
/// So long a cell is watched, from the break on.
pub const WATCHED_MS: u32 = 6_000;

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
    /// How far the machine may move.
    pub allowed: Allowed,
}

/// How far a machine with something broken may move: more than a sound one that is asked for the same as long as it may
/// drive, and at all once its permission is lost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowed {
    /// Metres of its way more than the sound machine's.
    pub metres: f64,
    /// Degrees of its heading more than the sound machine's, or in the other direction.
    pub degrees: f64,
    /// Metres from the loss of permission on.
    pub stop_metres: f64,
    /// Degrees of its heading from the loss of permission on.
    pub stop_degrees: f64,
}

/// A group of functions with a permission of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Group {
    /// Yes/no column of its permission.
    pub permission: &'static str,
    /// Column of the first reason why it has none.
    pub why_not: &'static str,
    /// Columns that drive it: 0 when it is off.
    pub driven_by: &'static [&'static str],
    /// Columns of the operator's levers that ask for it: 0 when they are let go.
    pub held_by: &'static [&'static str],
}

/// Where a machine is in the plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Path {
    /// Columns of place, in metres, and heading, in degrees.
    pub columns: [&'static str; 3],
    /// Permission of the group that moves it.
    pub permission: &'static str,
}

/// A part of the machine that moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limb {
    /// Column of its position.
    pub position: &'static str,
    /// Permission of the group that moves it.
    pub permission: &'static str,
    /// So much more than on a sound machine it may move, and at all once permission is lost: in the column's unit.
    pub allowed: f64,
}

/// What a machine declares for its campaign.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charter {
    /// What the machine may be doing.
    pub states: &'static [State],
    /// What is expected of each cell, in as many lists as are easy to read.
    pub rules: &'static [&'static [super::Rule]],
    /// What is expected of two failures at once beyond what is expected of each.
    pub together: &'static [super::Together],
    /// Signals and ways that are no pair: one thing that has two names in the plant.
    pub one_thing: &'static [super::OneThing],
    /// Groups for the rules that hold for all machines.
    pub groups: &'static [Group],
    /// Columns of which never both may be on.
    pub pairs: &'static [(&'static str, &'static str)],
    /// Longest stop, ms: so long after its permission went a group may still be driven.
    pub longest_stop_ms: u32,
    /// A column and the choice that says that tests at start-up are over; before, they drive without permission.
    pub tested: Option<(&'static str, &'static str)>,
    /// Place and heading, if the plant moves in the plane.
    pub path: Option<Path>,
    /// What else moves.
    pub limbs: &'static [Limb],
    /// How the operator lets go and asks for permission anew: time from [`LET_GO_AFTER_MS`] on, ms, and what a scenario
    /// does then.
    pub let_go: &'static [(u32, &'static str)],
}
