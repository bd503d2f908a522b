//! What is expected of each cell.

use trunnion_rig::campaign::{Expectation, Rule};

const fn tolerated(signal: &'static str, way: &'static str, state: &'static str) -> Rule {
    Rule { signal, way, state, expect: Expectation::Tolerated, also: &[] }
}

/// The rules: the most specific one decides a cell.
pub const RULES: &[Rule] = &[tolerated("*", "*", "*")];
