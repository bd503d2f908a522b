//! What an operator and the surroundings of the V84 can do, and what is true of it.

use trunnion_rig::run::{ActionInfo, ObservationInfo};

/// Places of the actions, in the order of [`ACTIONS`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u16)]
pub enum Action {
    Key,
    Seat,
    ParkBrakeSwitch,
    EmergencyStop,
    EnableButton,
    VibrationButton,
    AmplitudeRocker,
    LeftDriveLever,
    LeftSteerLever,
    RightDriveLever,
    RightSteerLever,
    HandThrottle,
    EngineRunning,
    Slope,
    CoilTemperature,
    BatteryCharge,
}

impl Action {
    /// All, in the order of [`ACTIONS`].
    pub const ALL: &'static [Self] = &[
        Self::Key,
        Self::Seat,
        Self::ParkBrakeSwitch,
        Self::EmergencyStop,
        Self::EnableButton,
        Self::VibrationButton,
        Self::AmplitudeRocker,
        Self::LeftDriveLever,
        Self::LeftSteerLever,
        Self::RightDriveLever,
        Self::RightSteerLever,
        Self::HandThrottle,
        Self::EngineRunning,
        Self::Slope,
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
    ActionInfo::choice("seat", "Where somebody sits", &["nobody", "left", "right", "both"], 0),
    ActionInfo::choice("park_brake_switch", "Park brake switch", &["on", "off"], 0),
    ActionInfo::choice("emergency_stop", "Emergency stop button", &["released", "pressed"], 0),
    ActionInfo::switch("enable_button", "Enable button pressed", false),
    ActionInfo::switch("vibration_button", "Vibration button pressed", false),
    ActionInfo::choice("amplitude_rocker", "Amplitude rocker", &["between", "high", "low"], 1),
    lever("left_drive", "Drive lever of the left station, forward positive"),
    lever("left_steer", "Steer lever of the left station, right positive"),
    lever("right_drive", "Drive lever of the right station, forward positive"),
    lever("right_steer", "Steer lever of the right station, right positive"),
    ActionInfo::number("hand_throttle", "Hand throttle, low to high idle", "%", 0.0, 100.0, 0.0),
    ActionInfo::switch("engine_running", "The engine runs already when the story begins", false),
    ActionInfo::number("slope", "Slope of the ground, rising ahead of the drum", "deg", -20.0, 20.0, 0.0),
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
    ObservationInfo::number("true_x", "Place of the drum, straight ahead of the start", "m"),
    ObservationInfo::number("true_y", "Place of the drum, to the left of the start", "m"),
    ObservationInfo::number("true_yaw", "Heading of the drum, counter-clockwise from the start", "deg"),
    ObservationInfo::number("true_speed", "Speed of travel, forward positive", "m/s"),
    ObservationInfo::number("true_acceleration", "Acceleration forward behind a lag of 50 ms", "m/s²"),
    ObservationInfo::number("true_yaw_rate", "Yaw rate of the drum, counter-clockwise positive", "deg/s"),
    ObservationInfo::number("true_joint_angle", "Angle of the joint, left positive", "deg"),
    ObservationInfo::number(
        "true_vibration",
        "Speed of the eccentric shaft, large amplitude positive",
        "rpm",
    ),
    ObservationInfo::number("true_engine_speed", "Engine speed", "rpm"),
    ObservationInfo::number("true_charge_pressure", "Charge pressure", "bar"),
    ObservationInfo::number("true_brake_opening", "Park brake, 0 closed to 100 open", "%"),
    ObservationInfo::number("true_supply_voltage", "Battery voltage", "V"),
    ObservationInfo::number(
        "true_drive_current",
        "Largest current through a coil of the drive, whatever its sense says",
        "mA",
    ),
];
