//! The controller itself: its supply, its starts, its stored parameters. Behind a start the tests at start-up run anew.

use trunnion_rig::campaign::Rule;

use super::{detected, dormant, stopped, with};

/// A controller that starts anew sounds no alarm until it knows how fast the motors turn.
const ROLLING: &[&str] = &["R-14"];

/// Supply, starts and stored parameters.
pub const CONTROLLER: &[Rule] = &[
    detected("controller_supply", "dip", "*", "SupplyLow", 60),
    // A loose plug: every opening is a start.
    stopped("controller_supply", "intermittent", "*", "self_test", 150),
    stopped("controller_supply", "intermittent", "start_up", "self_test", 1_200),
    with(stopped("controller_supply", "intermittent", "reversing", "self_test", 150), ROLLING),
    stopped("controller_supply", "brown_out", "*", "self_test", 500),
    stopped("controller_supply", "brown_out", "start_up", "self_test", 1_000),
    with(stopped("controller_supply", "brown_out", "reversing", "self_test", 500), ROLLING),
    stopped("controller_supply", "reset", "*", "self_test", 100),
    stopped("controller_supply", "reset", "start_up", "self_test", 1_000),
    with(stopped("controller_supply", "reset", "reversing", "self_test", 100), ROLLING),
    // The set in effect is a copy: what lies in the flash is read at a start.
    dormant("parameter_block", "damaged", "*", "parameter_block:damaged_at_start@*"),
    detected("parameter_block", "damaged_at_start", "*", "ParametersReplaced", 30),
    with(detected("parameter_block", "damaged_at_start", "reversing", "ParametersReplaced", 30), ROLLING),
];
