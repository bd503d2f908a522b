//! What an operator and the surroundings of the Q36 can do, and what is true of it.

use trunnion_rig::run::{ActionInfo, ObservationInfo};

/// Places of the actions, in the order of [`ACTIONS`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u16)]
pub enum Action {
    Key,
    LockReleased,
    OperatorSeated,
    RestraintBar,
    ParkBrakeSwitch,
    EmergencyStop,
    EnableButton,
    PatternRocker,
    LeftLeverX,
    LeftLeverY,
    LeftLeverWheel,
    RightLeverX,
    RightLeverY,
    RightLeverWheel,
    TwoSpeedButton,
    FloatButton,
    ContinuousButton,
    HandThrottle,
    EngineRunning,
    PileDistance,
    PileStiffness,
    Payload,
    Slope,
    OilTemperature,
    CoilTemperature,
    BatteryCharge,
}

impl Action {
    /// All, in the order of [`ACTIONS`].
    pub const ALL: &'static [Self] = &[
        Self::Key,
        Self::LockReleased,
        Self::OperatorSeated,
        Self::RestraintBar,
        Self::ParkBrakeSwitch,
        Self::EmergencyStop,
        Self::EnableButton,
        Self::PatternRocker,
        Self::LeftLeverX,
        Self::LeftLeverY,
        Self::LeftLeverWheel,
        Self::RightLeverX,
        Self::RightLeverY,
        Self::RightLeverWheel,
        Self::TwoSpeedButton,
        Self::FloatButton,
        Self::ContinuousButton,
        Self::HandThrottle,
        Self::EngineRunning,
        Self::PileDistance,
        Self::PileStiffness,
        Self::Payload,
        Self::Slope,
        Self::OilTemperature,
        Self::CoilTemperature,
        Self::BatteryCharge,
    ];
}

const fn lever(name: &'static str, doc: &'static str) -> ActionInfo {
    ActionInfo::number(name, doc, "%", -100.0, 100.0, 0.0)
}

/// What can be done.
pub const ACTIONS: &[ActionInfo] = &[
    ActionInfo::choice("key", "Ignition key", &["off", "run", "crank"], 0),
    ActionInfo::switch("lock_released", "Work lock switch released", false),
    ActionInfo::switch("operator_seated", "Somebody sits in the seat", false),
    ActionInfo::choice("restraint_bar", "Restraint bar", &["up", "down"], 0),
    ActionInfo::choice("park_brake_switch", "Park brake switch", &["on", "off"], 0),
    ActionInfo::choice("emergency_stop", "Emergency stop button", &["released", "pressed"], 0),
    ActionInfo::switch("enable_button", "Enable button pressed", false),
    ActionInfo::choice("pattern_rocker", "Lever pattern rocker", &["between", "h", "iso"], 2),
    lever("left_lever_x", "Left lever sideways, right positive"),
    lever("left_lever_y", "Left lever fore and aft, forward positive"),
    lever("left_lever_wheel", "Left lever thumb-wheel"),
    lever("right_lever_x", "Right lever sideways, right positive"),
    lever("right_lever_y", "Right lever fore and aft, forward positive"),
    lever("right_lever_wheel", "Right lever thumb-wheel"),
    ActionInfo::switch("two_speed_button", "Left lever button 1 pressed", false),
    ActionInfo::switch("float_button", "Right lever button 1 pressed", false),
    ActionInfo::switch("continuous_button", "Right lever button 2 pressed", false),
    ActionInfo::number("hand_throttle", "Hand throttle, low to high idle", "%", 0.0, 100.0, 0.0),
    ActionInfo::switch("engine_running", "The engine runs already when the story begins", false),
    ActionInfo::number(
        "pile_distance",
        "Distance from the bucket to a pile straight ahead; 0 for none",
        "m",
        0.0,
        100.0,
        0.0,
    ),
    ActionInfo::number(
        "pile_stiffness",
        "Resistance of the pile per metre of penetration",
        "kN/m",
        1.0,
        1000.0,
        25.0,
    ),
    ActionInfo::number("payload", "Load put into the bucket from outside", "kg", 0.0, 1500.0, 0.0),
    ActionInfo::number(
        "slope",
        "Slope of the ground, rising straight ahead of the start",
        "deg",
        -20.0,
        20.0,
        0.0,
    ),
    ActionInfo::number("oil_temperature", "Temperature of the hydraulic oil", "°C", -40.0, 130.0, 45.0),
    ActionInfo::number("coil_temperature", "Temperature of all coils", "°C", -40.0, 150.0, 40.0),
    ActionInfo::number(
        "battery_charge",
        "Share of the battery's open-circuit voltage that is left",
        "%",
        30.0,
        100.0,
        100.0,
    ),
];

/// What is true of the machine, whatever its sensors say.
pub const OBSERVATIONS: &[ObservationInfo] = &[
    ObservationInfo::number("true_x", "Place, straight ahead of the start", "m"),
    ObservationInfo::number("true_y", "Place, to the left of the start", "m"),
    ObservationInfo::number("true_yaw", "Heading, counter-clockwise from the start", "deg"),
    ObservationInfo::number("true_forward_speed", "Speed of travel, forward positive", "m/s"),
    ObservationInfo::number("true_left_speed", "Speed of the left wheels at their circumference", "m/s"),
    ObservationInfo::number("true_right_speed", "Speed of the right wheels at their circumference", "m/s"),
    ObservationInfo::number("true_yaw_rate", "Yaw rate, counter-clockwise positive", "deg/s"),
    ObservationInfo::number("true_acceleration", "Acceleration forward behind a lag of 50 ms", "m/s²"),
    ObservationInfo::number("true_engine_speed", "Engine speed", "rpm"),
    ObservationInfo::number("true_engine_stalls", "How often the engine stalled", ""),
    ObservationInfo::number(
        "true_left_pressure",
        "Pressure difference of the left loop, forward positive",
        "bar",
    ),
    ObservationInfo::number(
        "true_right_pressure",
        "Pressure difference of the right loop, forward positive",
        "bar",
    ),
    ObservationInfo::number("true_charge_pressure", "Charge pressure", "bar"),
    ObservationInfo::number("true_work_pressure", "Pressure of the work pump", "bar"),
    ObservationInfo::number("true_left_stroke", "Stroke of the left pump, forward positive", "%"),
    ObservationInfo::number("true_right_stroke", "Stroke of the right pump, forward positive", "%"),
    ObservationInfo::number("true_boom_position", "Boom cylinders, 0 down to 100 raised", "%"),
    ObservationInfo::number("true_bucket_position", "Bucket cylinders, 0 curled to 100 dumped", "%"),
    ObservationInfo::number("true_payload", "Load in the bucket", "kg"),
    ObservationInfo::number("true_pile_penetration", "How far the bucket is in the pile", "m"),
    ObservationInfo::number("true_supply_voltage", "Battery voltage", "V"),
    ObservationInfo::number("true_auxiliary_flow", "Flow to the auxiliary couplings, A positive", "l/min"),
    ObservationInfo::number("true_brake_torque", "Torque that each park brake can hold", "N·m"),
    ObservationInfo::number(
        "true_drive_current",
        "Largest current through a pump coil, whatever its sense says",
        "mA",
    ),
];
