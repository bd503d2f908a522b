//! Who is who, requests, long messages and the service port (SAE J1939-21, -81, ISO 15765-2).

use super::{FieldLayout, Meaning, MessageLayout};
use crate::id::pgn;

/// Fields of a NAME (SAE J1939-81).
pub(crate) mod name {
    use super::{FieldLayout, Meaning};

    pub const IDENTITY: FieldLayout =
        FieldLayout::new("IdentityNumber", 0, 21, Meaning::count(21), Some(2837));
    pub const MANUFACTURER: FieldLayout =
        FieldLayout::new("ManufacturerCode", 21, 11, Meaning::count(11), Some(2838));
    pub const CONTROLLER_INSTANCE: FieldLayout =
        FieldLayout::new("ControllerInstance", 32, 3, Meaning::count(3), Some(2840));
    pub const FUNCTION_INSTANCE: FieldLayout =
        FieldLayout::new("FunctionInstance", 35, 5, Meaning::count(5), Some(2839));
    pub const FUNCTION: FieldLayout = FieldLayout::new("Function", 40, 8, Meaning::count(8), Some(2841));
    pub const VEHICLE_SYSTEM: FieldLayout =
        FieldLayout::new("VehicleSystem", 49, 7, Meaning::count(7), Some(2842));
    pub const VEHICLE_SYSTEM_INSTANCE: FieldLayout =
        FieldLayout::new("VehicleSystemInstance", 56, 4, Meaning::count(4), Some(2843));
    pub const INDUSTRY_GROUP: FieldLayout =
        FieldLayout::new("IndustryGroup", 60, 3, Meaning::count(3), Some(2846));
    pub const MAY_MOVE: FieldLayout =
        FieldLayout::new("ArbitraryAddressCapable", 63, 1, Meaning::Choice(&["no", "yes"]), Some(2844));
}

const fn number(name: &'static str, first: u8, bits: u8) -> FieldLayout {
    FieldLayout::new(name, first, bits, Meaning::count(bits), None)
}

/// Address claimed, or cannot claim; the numbers of its parameters are from memory.
pub const ADDRESS_CLAIMED: MessageLayout = MessageLayout {
    name: "AddressClaimed",
    title: "Address claimed; from address 254: cannot claim (SAE J1939-81)",
    pgn: pgn::ADDRESS_CLAIMED,
    priority: 6,
    bytes: 8,
    fields: &[
        name::IDENTITY,
        name::MANUFACTURER,
        name::CONTROLLER_INSTANCE,
        name::FUNCTION_INSTANCE,
        name::FUNCTION,
        name::VEHICLE_SYSTEM,
        name::VEHICLE_SYSTEM_INSTANCE,
        name::INDUSTRY_GROUP,
        name::MAY_MOVE,
    ],
};

/// Request of a group.
pub const REQUEST: MessageLayout = MessageLayout {
    name: "Request",
    title: "Request of a group (SAE J1939-21)",
    pgn: pgn::REQUEST,
    priority: 6,
    bytes: 3,
    fields: &[number("RequestedGroup", 0, 24)],
};

/// Acknowledgement.
pub const ACKNOWLEDGEMENT: MessageLayout = MessageLayout {
    name: "Acknowledgement",
    title: "Answer to a request or a command (SAE J1939-21)",
    pgn: pgn::ACKNOWLEDGEMENT,
    priority: 6,
    bytes: 8,
    fields: &[
        FieldLayout::new(
            "Control",
            0,
            8,
            Meaning::Choice(&["positive", "negative", "access denied", "cannot respond"]),
            None,
        ),
        number("AcknowledgedAddress", 32, 8),
        number("AcknowledgedGroup", 40, 24),
    ],
};

/// Transport protocol: connection management.
pub const TRANSPORT_CONTROL: MessageLayout = MessageLayout {
    name: "TransportControl",
    title: "Transport protocol, connection management; bytes 2 to 5 depend on the first (SAE J1939-21)",
    pgn: pgn::TRANSPORT_CONTROL,
    priority: 7,
    bytes: 8,
    fields: &[number("Kind", 0, 8), number("Detail", 8, 32), number("TransportedGroup", 40, 24)],
};

/// Transport protocol: a packet of seven bytes.
pub const TRANSPORT_PACKET: MessageLayout = MessageLayout {
    name: "TransportPacket",
    title: "Transport protocol, packet of seven bytes (SAE J1939-21)",
    pgn: pgn::TRANSPORT_PACKET,
    priority: 7,
    bytes: 8,
    fields: &[number("PacketNumber", 0, 8), number("FirstBytes", 8, 32), number("LastBytes", 40, 24)],
};

const FRAME_KINDS: Meaning = Meaning::Choice(&["single", "first", "consecutive", "flow control"]);

/// The kind of frame is in the high half of the first byte; what follows depends on it.
const SERVICE_FIELDS: &[FieldLayout] = &[
    number("LengthOrNumber", 0, 4),
    FieldLayout::new("FrameKind", 4, 4, FRAME_KINDS, None),
    number("FirstBytes", 8, 32),
    number("LastBytes", 40, 24),
];

/// A frame of the service port to one address.
pub const SERVICE_TO_ONE: MessageLayout = MessageLayout {
    name: "ServiceToOne",
    title: "Diagnostic message to one address (ISO 15765-2, normal fixed addressing)",
    pgn: 0xDA00,
    priority: 6,
    bytes: 8,
    fields: SERVICE_FIELDS,
};

/// A frame of the service port to all.
pub const SERVICE_TO_ALL: MessageLayout = MessageLayout {
    name: "ServiceToAll",
    title: "Diagnostic message to all (ISO 15765-2, normal fixed addressing)",
    pgn: 0xDB00,
    priority: 6,
    bytes: 8,
    fields: SERVICE_FIELDS,
};
