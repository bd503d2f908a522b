//! The 29-bit identifier of SAE J1939-21.

use embedded_can::ExtendedId;

/// Parameter group numbers that a machine of ours speaks (SAE J1939-21, -71, -73, -81).
pub mod pgn {
    /// Torque/Speed Control 1: a speed asked of the engine.
    pub const TORQUE_SPEED_CONTROL_1: u32 = 0x0000;
    /// Acknowledgement, positive or negative.
    pub const ACKNOWLEDGEMENT: u32 = 0xE800;
    /// Request of a group.
    pub const REQUEST: u32 = 0xEA00;
    /// Transport protocol: a packet of seven bytes.
    pub const TRANSPORT_PACKET: u32 = 0xEB00;
    /// Transport protocol: connection management.
    pub const TRANSPORT_CONTROL: u32 = 0xEC00;
    /// Address claimed, or cannot claim.
    pub const ADDRESS_CLAIMED: u32 = 0xEE00;
    /// DM1: active trouble codes.
    pub const ACTIVE_TROUBLE_CODES: u32 = 0xFECA;
    /// DM2: previously active trouble codes.
    pub const PREVIOUS_TROUBLE_CODES: u32 = 0xFECB;
    /// DM3: clear the previously active trouble codes.
    pub const CLEAR_PREVIOUS_TROUBLE_CODES: u32 = 0xFECC;
    /// DM11: clear the active trouble codes.
    pub const CLEAR_ACTIVE_TROUBLE_CODES: u32 = 0xFED3;
    /// Software identification.
    pub const SOFTWARE_IDENTIFICATION: u32 = 0xFEDA;
    /// Component identification: make, model, serial number, unit number.
    pub const COMPONENT_IDENTIFICATION: u32 = 0xFEEB;
    /// Electronic Engine Controller 1: engine speed.
    pub const ELECTRONIC_ENGINE_CONTROLLER_1: u32 = 0xF004;
    /// Basic Joystick Message 1: axes X and Y, buttons.
    pub const BASIC_JOYSTICK_1: u32 = 0xFDD6;
    /// Extended Joystick Message 1: grip axes and twist.
    pub const EXTENDED_JOYSTICK_1: u32 = 0xFDD7;
    /// Basic Joystick Message 2.
    pub const BASIC_JOYSTICK_2: u32 = 0xFDD8;
    /// Extended Joystick Message 2.
    pub const EXTENDED_JOYSTICK_2: u32 = 0xFDD9;
    /// Basic Joystick Message 3.
    pub const BASIC_JOYSTICK_3: u32 = 0xFDDA;
    /// Extended Joystick Message 3.
    pub const EXTENDED_JOYSTICK_3: u32 = 0xFDDB;
}

/// From this PDU format on a group is sent to all, and the PDU-specific byte belongs to its number.
const FIRST_BROADCAST_FORMAT: u32 = 240;
const LARGEST_PGN: u32 = 0x3_FFFF;

/// A 29-bit identifier: priority 3 bits, extended data page and data page 1 bit each, PDU format and
/// PDU-specific 8 bits each, source address 8 bits (SAE J1939-21).
///
/// ```
/// use trunnion_can::id::{Id29, pgn};
///
/// let left_lever = Id29::broadcast(3, pgn::BASIC_JOYSTICK_1, 0x33).unwrap();
/// assert_eq!(left_lever.to_raw(), 0x0CFD_D633);
/// let from_the_wire = Id29::from_raw(0x18FD_D633).unwrap();
/// assert_eq!((from_the_wire.pgn(), from_the_wire.source()), (pgn::BASIC_JOYSTICK_1, 0x33));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Id29(u32);

impl Id29 {
    /// From the raw identifier; `None` above 29 bits.
    pub const fn from_raw(raw: u32) -> Option<Self> {
        if raw < 1 << 29 { Some(Self(raw)) } else { None }
    }

    /// A group that is sent to all. `None` for a priority above 7, a number above 18 bits, or a number whose
    /// format (second byte) is below 240: such a group has a destination.
    pub const fn broadcast(priority: u8, pgn: u32, source: u8) -> Option<Self> {
        if priority > 7 || pgn > LARGEST_PGN || format_of(pgn) < FIRST_BROADCAST_FORMAT {
            return None;
        }
        Some(Self(((priority as u32) << 26) | (pgn << 8) | source as u32))
    }

    /// A group that is sent to one address, or with 255 to all that listen. `None` for a priority above 7, a
    /// number above 18 bits, a format of 240 or more, or a last byte that is not zero.
    pub const fn addressed(priority: u8, pgn: u32, destination: u8, source: u8) -> Option<Self> {
        let addressable = format_of(pgn) < FIRST_BROADCAST_FORMAT && pgn & 0xFF == 0;
        if priority > 7 || pgn > LARGEST_PGN || !addressable {
            return None;
        }
        Some(Self(((priority as u32) << 26) | (pgn << 8) | ((destination as u32) << 8) | source as u32))
    }

    /// The raw identifier.
    pub const fn to_raw(self) -> u32 {
        self.0
    }

    /// 0 (first on the bus) to 7.
    pub const fn priority(self) -> u8 {
        (self.0 >> 26) as u8
    }

    /// Parameter group number, 18 bits; its last byte is zero when there is a destination.
    pub const fn pgn(self) -> u32 {
        let number = (self.0 >> 8) & LARGEST_PGN;
        if format_of(number) < FIRST_BROADCAST_FORMAT { number & 0x3_FF00 } else { number }
    }

    /// Address of the sender.
    pub const fn source(self) -> u8 {
        self.0 as u8
    }

    /// Address of the receiver; `None` for a group that is sent to all.
    pub const fn destination(self) -> Option<u8> {
        let number = self.0 >> 8;
        if format_of(number) < FIRST_BROADCAST_FORMAT { Some(number as u8) } else { None }
    }
}

/// The PDU format: second byte of a group number.
const fn format_of(pgn: u32) -> u32 {
    (pgn >> 8) & 0xFF
}

impl From<ExtendedId> for Id29 {
    fn from(id: ExtendedId) -> Self {
        Self(id.as_raw())
    }
}

impl From<Id29> for ExtendedId {
    fn from(id: Id29) -> Self {
        // 29 bits by construction; the fallback is never taken.
        ExtendedId::new(id.0).unwrap_or(ExtendedId::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn published_identifiers_come_apart_as_published() {
        // SAE J1939-71: EEC1 is PGN 61444, default priority 3, so 0x0CF00400 from address 0.
        let eec1 = Id29::from_raw(0x0CF0_0400).unwrap();
        assert_eq!((eec1.priority(), eec1.pgn(), eec1.source(), eec1.destination()), (3, 61444, 0, None));
        assert_eq!(Id29::broadcast(3, pgn::ELECTRONIC_ENGINE_CONTROLLER_1, 0), Some(eec1));
        // SAE J1939-71: Basic Joystick Message 1 is PGN 64982, priority 3: 0x0CFDD6SA.
        assert_eq!(pgn::BASIC_JOYSTICK_1, 64982);
        assert_eq!(Id29::broadcast(3, pgn::BASIC_JOYSTICK_1, 0xA5).unwrap().to_raw(), 0x0CFD_D6A5);
        assert_eq!([pgn::BASIC_JOYSTICK_2, pgn::BASIC_JOYSTICK_3], [64984, 64986]);
        assert_eq!(
            [pgn::EXTENDED_JOYSTICK_1, pgn::EXTENDED_JOYSTICK_2, pgn::EXTENDED_JOYSTICK_3],
            [64983, 64985, 64987]
        );
    }

    #[test]
    fn a_format_below_240_carries_the_destination() {
        // SAE J1939-21: request, PGN 59904 (0xEA00), to address 0x21 from 0xF9.
        let request = Id29::addressed(6, 59904, 0x21, 0xF9).unwrap();
        assert_eq!(request.to_raw(), 0x18EA_21F9);
        assert_eq!((request.pgn(), request.destination(), request.source()), (59904, Some(0x21), 0xF9));
        assert_eq!(Id29::broadcast(6, 59904, 0xF9), None);
        assert_eq!(Id29::addressed(6, 59905, 0x21, 0xF9), None, "the last byte is the destination's");
        assert_eq!(Id29::addressed(3, 61444, 0x21, 0xF9), None);
        // The border: 239 is addressed, 240 is not.
        assert!(Id29::addressed(7, 0xEF00, 0, 0).is_some() && Id29::broadcast(7, 0xF000, 0).is_some());
    }

    #[test]
    fn fields_that_do_not_fit_are_refused() {
        assert_eq!(Id29::from_raw(1 << 29), None);
        assert_eq!(Id29::broadcast(8, 61444, 0), None);
        assert_eq!(Id29::broadcast(3, 0x4_F004, 0), None);
        assert_eq!(Id29::addressed(8, 59904, 0, 0), None);
    }

    proptest! {
        #[test]
        fn an_identifier_is_put_together_again_from_its_fields(raw in 0_u32..1 << 29) {
            let id = Id29::from_raw(raw).unwrap();
            let again = match id.destination() {
                Some(destination) => Id29::addressed(id.priority(), id.pgn(), destination, id.source()),
                None => Id29::broadcast(id.priority(), id.pgn(), id.source()),
            };
            prop_assert_eq!(again, Some(id));
            prop_assert_eq!(Id29::from(ExtendedId::from(id)), id);
            prop_assert_eq!(ExtendedId::from(id).as_raw(), raw);
        }
    }
}
