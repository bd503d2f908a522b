//! Trouble codes: DM1 and DM2 with at most one code (SAE J1939-73).

use super::{FieldLayout, Meaning, MessageLayout, STATUS};
use crate::id::pgn;

const FLASHES: Meaning = Meaning::Choice(&["slow", "fast", "reserved", "not flashing or not supported"]);

const fn status(name: &'static str, first: u8, spn: u32) -> FieldLayout {
    FieldLayout::new(name, first, 2, STATUS, Some(spn))
}

const fn flash(name: &'static str, first: u8) -> FieldLayout {
    FieldLayout::new(name, first, 2, FLASHES, None)
}

/// The lamps: places in the two bytes in front of the codes.
pub(crate) mod lamps {
    use super::{FieldLayout, flash, status};

    pub const PROTECT: FieldLayout = status("ProtectLamp", 0, 987);
    pub const AMBER: FieldLayout = status("AmberWarningLamp", 2, 624);
    pub const RED: FieldLayout = status("RedStopLamp", 4, 623);
    pub const MALFUNCTION: FieldLayout = status("MalfunctionLamp", 6, 1213);
    pub const PROTECT_FLASH: FieldLayout = flash("ProtectLampFlash", 8);
    pub const AMBER_FLASH: FieldLayout = flash("AmberWarningLampFlash", 10);
    pub const RED_FLASH: FieldLayout = flash("RedStopLampFlash", 12);
    pub const MALFUNCTION_FLASH: FieldLayout = flash("MalfunctionLampFlash", 14);
}

/// Lowest bit of the first code.
const CODE: u8 = 16;

/// The fields of one trouble code, from its own lowest bit.
pub(crate) mod code {
    use super::{FieldLayout, Meaning};

    pub const SPN_LOW: FieldLayout = FieldLayout::new("SpnLow16", 0, 16, Meaning::count(16), Some(1214));
    pub const FMI: FieldLayout = FieldLayout::new("Fmi", 16, 5, Meaning::count(5), Some(1215));
    pub const SPN_HIGH: FieldLayout = FieldLayout::new("SpnHigh3", 21, 3, Meaning::count(3), Some(1214));
    pub const COUNT: FieldLayout = FieldLayout::new("OccurrenceCount", 24, 7, Meaning::count(7), Some(1216));
    pub const METHOD: FieldLayout =
        FieldLayout::new("ConversionMethod", 31, 1, Meaning::count(1), Some(1706));
}

const fn first_code(field: FieldLayout) -> FieldLayout {
    FieldLayout { first: field.first.saturating_add(CODE), ..field }
}

const FIELDS: &[FieldLayout] = &[
    lamps::PROTECT,
    lamps::AMBER,
    lamps::RED,
    lamps::MALFUNCTION,
    lamps::PROTECT_FLASH,
    lamps::AMBER_FLASH,
    lamps::RED_FLASH,
    lamps::MALFUNCTION_FLASH,
    first_code(code::SPN_LOW),
    first_code(code::FMI),
    first_code(code::SPN_HIGH),
    first_code(code::COUNT),
    first_code(code::METHOD),
];

/// DM1, active trouble codes.
pub const ACTIVE_TROUBLE_CODES: MessageLayout = MessageLayout {
    name: "DM1",
    title: "Active trouble codes, none or one; more go by the transport protocol (SAE J1939-73)",
    pgn: pgn::ACTIVE_TROUBLE_CODES,
    priority: 6,
    bytes: 8,
    fields: FIELDS,
};

/// DM2, previously active trouble codes.
pub const PREVIOUS_TROUBLE_CODES: MessageLayout = MessageLayout {
    name: "DM2",
    title: "Previously active trouble codes, none or one; more go by the transport protocol (SAE J1939-73)",
    pgn: pgn::PREVIOUS_TROUBLE_CODES,
    priority: 6,
    bytes: 8,
    fields: FIELDS,
};
