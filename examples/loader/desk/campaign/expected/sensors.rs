//! Supplies, sensors and pickups.

use trunnion_rig::campaign::Rule;

use super::{detected, stopped, tolerated, undetectable, with};

const RESTS: &str = "a reading that rests or drifts inside its range is not found; the current loops make up for a wrong \
                     supply";
const READ_BACK: &str = "a read-back that rests, drifts or touches supply hides a relay that is welded until the next \
                         start-up test";

/// Battery, coil supply and sensor supply.
pub const SUPPLIES: &[Rule] = &[
    detected("supply_voltage", "open|intermittent", "*", "SupplyLow", 60),
    detected("supply_voltage", "out_of_range", "*", "SupplyHigh", 1_100),
    undetectable("supply_voltage", "stuck|drift", "*", RESTS),
    detected("coil_supply_read_back", "open", "*", "CutOffStuckOff", 200),
    undetectable("coil_supply_read_back", "stuck|drift|out_of_range", "*", READ_BACK),
    // Openings end before the monitor of the relay is sure.
    tolerated("coil_supply_read_back", "intermittent", "*"),
    with(detected("sensor_supply", "intermittent", "*", "SensorSupply", 400), &["ChargePressureSensor"]),
    // What the sensors say without their supply is out of range too, and their own faults follow.
    with(
        detected("sensor_supply", "open|out_of_range", "*", "SensorSupply", 100),
        &["ChargePressureSensor", "HandThrottleSensor", "OilTemperatureSensor"],
    ),
    // 5 % of its range a second: it leaves its band of 5 % after 1.3 s.
    with(
        detected("sensor_supply", "drift", "*", "SensorSupply", 1_500),
        &["ChargePressureSensor", "HandThrottleSensor", "OilTemperatureSensor"],
    ),
    undetectable("sensor_supply", "stuck", "*", RESTS),
];

const WRONG_PRESSURE: &str = "a charge pressure that is lost behind a reading that rests: the brake then comes on by its \
                              spring alone";
const WRONG_TEMPERATURE: &str = "cold or hot oil behind a reading that rests: no derating";
const WRONG_THROTTLE: &str = "an engine that is allowed to droop more or less than it should";

/// Sensors with a range of 0.5 to 4.5 V.
pub const SENSORS: &[Rule] = &[
    detected("charge_pressure_signal", "open|short_*|out_of_range", "*", "ChargePressureSensor", 150),
    // A pressure that is not known for a moment stops; the fault comes if that lasts.
    with(
        stopped("charge_pressure_signal", "intermittent", "*", "charge_pressure_low", 50),
        &["ChargePressureSensor"],
    ),
    with(
        stopped("charge_pressure_signal", "intermittent", "start_up", "charge_pressure_low", 1_000),
        &["ChargePressureSensor"],
    ),
    // Openings end before these two are sure.
    tolerated("oil_temperature_signal|hand_throttle_signal", "intermittent", "*"),
    undetectable("charge_pressure_signal", "stuck|drift", "*", WRONG_PRESSURE),
    detected("oil_temperature_signal", "open|short_*|out_of_range", "*", "OilTemperatureSensor", 550),
    undetectable("oil_temperature_signal", "stuck|drift", "*", WRONG_TEMPERATURE),
    detected("hand_throttle_signal", "open|short_*|out_of_range", "*", "HandThrottleSensor", 250),
    undetectable("hand_throttle_signal", "stuck|drift", "*", WRONG_THROTTLE),
];

const DRIVEN: &str = "driving|reversing|spinning|curving|pushing";
const STANDS: &str = "a motor that stands gives no pulses anyway: found when both sides are driven";
const SLOWER: &str = "a motor pickup that misses or adds pulses: standstill is found late, or the reverse alarm sounds \
                      without need";
const DIRECTION: &str = "the direction of a motor is not checked: the reverse alarm may sound or be silent wrongly, as \
                         far as it follows the motors";

/// Engine and motor pickups.
pub const PICKUPS: &[Rule] = &[
    detected("engine_pickup_edges", "*", "*", "EngineSpeedDisagrees", 900),
    // Pulses that are missing for a moment are an engine that stalls.
    stopped("engine_pickup_edges", "intermittent", "*", "engine_stopped", 50),
    stopped("engine_pickup_edges", "intermittent", "start_up", "engine_stopped", 1_200),
    // Faster than the engine can be.
    detected("engine_pickup_edges", "out_of_range", "*", "EnginePickup", 150),
    detected("left_motor_edges", "out_of_range", "*", "LeftMotorPickup", 1_100),
    detected("right_motor_edges", "out_of_range", "*", "RightMotorPickup", 1_100),
    undetectable("*_motor_edges", "open|stuck", "*", STANDS),
    detected("left_motor_edges", "open|stuck", DRIVEN, "LeftMotorPickup", 1_600),
    detected("right_motor_edges", "open|stuck", DRIVEN, "RightMotorPickup", 1_600),
    undetectable("*_motor_edges", "noise|intermittent", "*", SLOWER),
    with(undetectable("left_motor_edges", "noise", "driving", SLOWER), &["LeftMotorPickup"]),
    with(undetectable("right_motor_edges", "noise", "curving", SLOWER), &["RightMotorPickup"]),
    undetectable("*_motor_reverse", "*", "*", DIRECTION),
];
