//! The engine: its speed, and a speed asked of it (SAE J1939-71).

use super::{FieldLayout, Meaning, MessageLayout};
use crate::id::pgn;

/// Eighths of a revolution a minute; a word up to 0xFAFF is a value (SAE J1939-71).
const SPEED: Meaning =
    Meaning::Number { numerator: 1, denominator: 8, offset: 0, highest: 0xFAFF, unit: "rpm" };
/// Percent with an offset; a byte up to 0xFA is a value (SAE J1939-71).
const TORQUE: Meaning =
    Meaning::Number { numerator: 1, denominator: 1, offset: -125, highest: 0xFA, unit: "%" };

/// Fields of Electronic Engine Controller 1 that are read here.
pub(crate) mod engine {
    use super::{FieldLayout, SPEED};

    pub const ENGINE_SPEED: FieldLayout = FieldLayout::new("EngineSpeed", 24, 16, SPEED, Some(190));
}

/// Fields of Torque/Speed Control 1 (from memory of SAE J1939-71).
pub(crate) mod request {
    use super::{FieldLayout, Meaning, SPEED};

    const MODES: Meaning =
        Meaning::Choice(&["override disabled", "speed control", "torque control", "speed or torque limit"]);
    const PRIORITIES: Meaning = Meaning::Choice(&["highest", "high", "medium", "low"]);

    pub const MODE: FieldLayout = FieldLayout::new("OverrideControlMode", 0, 2, MODES, Some(695));
    pub const CONDITIONS: FieldLayout =
        FieldLayout::new("RequestedSpeedConditions", 2, 2, Meaning::count(2), Some(696));
    pub const PRIORITY: FieldLayout =
        FieldLayout::new("OverrideControlModePriority", 4, 2, PRIORITIES, Some(897));
    pub const SPEED_ASKED: FieldLayout = FieldLayout::new("RequestedSpeed", 8, 16, SPEED, Some(898));
    pub const COUNTER: FieldLayout = FieldLayout::new("MessageCounter", 56, 4, Meaning::count(4), Some(4206));
    pub const CHECKSUM: FieldLayout =
        FieldLayout::new("MessageChecksum", 60, 4, Meaning::count(4), Some(4207));
}

/// Electronic Engine Controller 1.
pub const ELECTRONIC_ENGINE_CONTROLLER_1: MessageLayout = MessageLayout {
    name: "EEC1",
    title: "Electronic Engine Controller 1 (SAE J1939-71; the torque fields from memory of it)",
    pgn: pgn::ELECTRONIC_ENGINE_CONTROLLER_1,
    priority: 3,
    bytes: 8,
    fields: &[
        FieldLayout::new("DemandedTorque", 8, 8, TORQUE, Some(512)),
        FieldLayout::new("ActualTorque", 16, 8, TORQUE, Some(513)),
        engine::ENGINE_SPEED,
    ],
};

/// Torque/Speed Control 1.
pub const TORQUE_SPEED_CONTROL_1: MessageLayout = MessageLayout {
    name: "TSC1",
    title: "Torque/Speed Control 1 (from memory of SAE J1939-71: check it against the engine maker's documents)",
    pgn: pgn::TORQUE_SPEED_CONTROL_1,
    priority: 3,
    bytes: 8,
    fields: &[
        request::MODE,
        request::CONDITIONS,
        request::PRIORITY,
        request::SPEED_ASKED,
        FieldLayout::new("RequestedTorque", 24, 8, TORQUE, Some(518)),
        request::COUNTER,
        request::CHECKSUM,
    ],
};
