//! What is expected of each cell. The most specific rule decides; what is undetectable says what can happen then.

mod bus;
mod coils;
mod controller;
mod outputs;
mod sensors;
mod switches;
mod together;

use trunnion_rig::campaign::{Expectation, Rule};

pub use self::together::{ONE_THING, TOGETHER};

/// All rules.
pub const RULES: &[&[Rule]] = &[
    bus::LEVERS,
    bus::ENGINE,
    bus::MACHINE_BUS,
    controller::CONTROLLER,
    switches::SEAT_AND_BRAKE,
    switches::EMERGENCY_STOP,
    switches::PANEL,
    sensors::SUPPLIES,
    sensors::SENSORS,
    sensors::PICKUPS,
    coils::LEFT_PUMP_FORWARD,
    coils::LEFT_PUMP_REVERSE,
    coils::RIGHT_PUMP_FORWARD,
    coils::RIGHT_PUMP_REVERSE,
    coils::BOOM_RAISE,
    coils::BOOM_LOWER,
    coils::BOOM_FLOAT,
    coils::BUCKET_CURL,
    coils::BUCKET_DUMP,
    coils::AUXILIARY_A,
    coils::AUXILIARY_B,
    coils::STANDING_STILL,
    coils::ALL,
    outputs::OUTPUTS,
];

const fn rule(signal: &'static str, way: &'static str, state: &'static str, expect: Expectation) -> Rule {
    Rule { signal, way, state, expect, also: &[] }
}

const fn tolerated(signal: &'static str, way: &'static str, state: &'static str) -> Rule {
    rule(signal, way, state, Expectation::Tolerated)
}

const fn undetectable(
    signal: &'static str,
    way: &'static str,
    state: &'static str,
    hazard: &'static str,
) -> Rule {
    rule(signal, way, state, Expectation::Undetectable { hazard })
}

const fn detected(
    signal: &'static str,
    way: &'static str,
    state: &'static str,
    fault: &'static str,
    within_ms: u32,
) -> Rule {
    rule(signal, way, state, Expectation::Detected { fault, within_ms })
}

const fn stopped(
    signal: &'static str,
    way: &'static str,
    state: &'static str,
    why: &'static str,
    within_ms: u32,
) -> Rule {
    rule(signal, way, state, Expectation::Stopped { why, within_ms })
}

const fn dormant(signal: &'static str, way: &'static str, state: &'static str, shows: &'static str) -> Rule {
    rule(signal, way, state, Expectation::Dormant { shows })
}

/// The same rule, with what may come along.
const fn with(rule: Rule, also: &'static [&'static str]) -> Rule {
    Rule { also, ..rule }
}
