//! Where each field of a message lies: one table for the decoders here and for the database that ordinary tools load.
//!
//! Decoders read and write by these rows, so that a database written from them means the same bits.

mod carried;
mod levers;
mod network;
mod power;
mod troubles;

pub use carried::{BusRow, Direction, From};
pub use levers::{
    BASIC_JOYSTICK_1, BASIC_JOYSTICK_2, BASIC_JOYSTICK_3, EXTENDED_JOYSTICK_1, EXTENDED_JOYSTICK_2,
    EXTENDED_JOYSTICK_3,
};
pub(crate) use levers::{axis, basic, extended};
pub(crate) use network::name;
pub use network::{
    ACKNOWLEDGEMENT, ADDRESS_CLAIMED, REQUEST, SERVICE_TO_ALL, SERVICE_TO_ONE, TRANSPORT_CONTROL,
    TRANSPORT_PACKET,
};
pub use power::{ELECTRONIC_ENGINE_CONTROLLER_1, TORQUE_SPEED_CONTROL_1};
pub(crate) use power::{engine, request};
pub use troubles::{ACTIVE_TROUBLE_CODES, PREVIOUS_TROUBLE_CODES};
pub(crate) use troubles::{code, lamps};

/// What the bits of a field mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meaning {
    /// A number: `raw · numerator / denominator + offset` in its unit.
    Number {
        /// See above.
        numerator: u32,
        /// See above; never 0.
        denominator: u32,
        /// See above.
        offset: i32,
        /// Largest raw value that is one; above it the field says "error", "not available" or what is kept free.
        highest: u32,
        /// Unit, empty for a pure number.
        unit: &'static str,
    },
    /// A choice; names by raw value from 0 on, which may be fewer than the bits could hold.
    Choice(&'static [&'static str]),
}

/// The names of a two-bit status (SAE J1939-71).
pub const STATUS: Meaning = Meaning::Choice(&["off", "on", "error", "not available"]);

impl Meaning {
    /// A pure number that fills all of its `bits`, at most 32.
    pub const fn count(bits: u8) -> Self {
        let highest = if bits >= 32 { u32::MAX } else { 1_u32.wrapping_shl(bits as u32).wrapping_sub(1) };
        Self::Number { numerator: 1, denominator: 1, offset: 0, highest, unit: "" }
    }
}

/// A field of a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FieldLayout {
    /// Name, as databases show it.
    pub name: &'static str,
    /// Its lowest bit: 0 is the lowest of the first byte, 8 the lowest of the second.
    pub first: u8,
    /// Number of bits, 1 to 64; the byte that comes first is the low one.
    pub bits: u8,
    /// What they mean.
    pub meaning: Meaning,
    /// Suspect parameter number (SAE J1939-71), where it is known.
    pub spn: Option<u32>,
}

impl FieldLayout {
    /// A row.
    pub const fn new(name: &'static str, first: u8, bits: u8, meaning: Meaning, spn: Option<u32>) -> Self {
        Self { name, first, bits, meaning, spn }
    }

    /// Largest raw value that the bits hold.
    pub const fn mask(&self) -> u64 {
        u64::MAX.wrapping_shr(64_u32.wrapping_sub(self.bits as u32))
    }

    /// The raw value, from a message's bytes as one number, the first byte lowest.
    pub const fn read(&self, word: u64) -> u64 {
        word.wrapping_shr(self.first as u32) & self.mask()
    }

    /// A raw value at its place, all other bits 0; bits that do not fit are lost.
    pub const fn put(&self, raw: u64) -> u64 {
        (raw & self.mask()).wrapping_shl(self.first as u32)
    }
}

/// A message: its group and its fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MessageLayout {
    /// Short name, as databases show it.
    pub name: &'static str,
    /// What it is, and where the layout is from.
    pub title: &'static str,
    /// Parameter group.
    pub pgn: u32,
    /// Default priority; decoders ignore it.
    pub priority: u8,
    /// Bytes of a frame.
    pub bytes: u8,
    /// Its fields, in ascending place.
    pub fields: &'static [FieldLayout],
}

/// All messages that are known here.
pub const ALL: &[&MessageLayout] = &[
    &TORQUE_SPEED_CONTROL_1,
    &SERVICE_TO_ONE,
    &SERVICE_TO_ALL,
    &ACKNOWLEDGEMENT,
    &REQUEST,
    &TRANSPORT_PACKET,
    &TRANSPORT_CONTROL,
    &ADDRESS_CLAIMED,
    &ELECTRONIC_ENGINE_CONTROLLER_1,
    &BASIC_JOYSTICK_1,
    &EXTENDED_JOYSTICK_1,
    &BASIC_JOYSTICK_2,
    &EXTENDED_JOYSTICK_2,
    &BASIC_JOYSTICK_3,
    &EXTENDED_JOYSTICK_3,
    &ACTIVE_TROUBLE_CODES,
    &PREVIOUS_TROUBLE_CODES,
];

/// The bits that no field of a message has.
#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
pub(crate) const fn free_bits(message: &MessageLayout) -> u64 {
    let mut free = u64::MAX;
    let mut row = 0;
    while row < message.fields.len() {
        free &= !message.fields[row].put(u64::MAX);
        row += 1;
    }
    free
}

/// The first field that has no bits, lies outside of its message, or overlaps or precedes the one before it.
#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
const fn first_wrong_field(message: &MessageLayout) -> Option<usize> {
    let mut free = 0_u16;
    let mut row = 0;
    while row < message.fields.len() {
        let field = &message.fields[row];
        let end = field.first as u16 + field.bits as u16;
        if field.bits == 0 || field.bits > 64 || (field.first as u16) < free || end > message.bytes as u16 * 8
        {
            return Some(row);
        }
        free = end;
        row += 1;
    }
    None
}

#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
const _: () = {
    let mut place = 0;
    while place < ALL.len() {
        assert!(first_wrong_field(ALL[place]).is_none(), "fields of a message overlap or leave it");
        place += 1;
    }
};

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::HashSet;

    #[test]
    fn a_field_that_overlaps_leaves_or_precedes_is_found() {
        static ROWS: [FieldLayout; 2] = [
            FieldLayout::new("One", 0, 8, Meaning::count(8), None),
            FieldLayout::new("Two", 7, 2, Meaning::count(2), None),
        ];
        static LATE: [FieldLayout; 1] = [FieldLayout::new("One", 60, 8, Meaning::count(8), None)];
        let message = |fields| MessageLayout { fields, ..BASIC_JOYSTICK_1 };
        assert_eq!(first_wrong_field(&message(&ROWS)), Some(1));
        assert_eq!(first_wrong_field(&message(&LATE)), Some(0));
        assert_eq!(first_wrong_field(&BASIC_JOYSTICK_1), None);
    }

    #[test]
    fn names_are_those_that_a_database_can_hold_and_come_once() {
        let mut messages = HashSet::new();
        for message in ALL {
            assert!(messages.insert(message.name), "{}", message.name);
            let mut fields = HashSet::new();
            for field in message.fields {
                assert!(fields.insert(field.name), "{}.{}", message.name, field.name);
                assert!(field.name.chars().all(|letter| letter.is_ascii_alphanumeric()), "{}", field.name);
                if let Meaning::Number { highest, .. } = field.meaning {
                    assert!(u64::from(highest) <= field.mask(), "{}.{}", message.name, field.name);
                }
            }
        }
    }

    proptest! {
        #[test]
        fn a_field_reads_what_was_put_and_touches_no_other_bit(message in 0..ALL.len(), row: usize, raw: u64, around: u64) {
            let fields = ALL[message].fields;
            let field = &fields[row % fields.len()];
            let hole = field.put(u64::MAX);
            let word = (around & !hole) | field.put(raw);
            prop_assert_eq!(field.read(word), raw & field.mask());
            prop_assert_eq!(word & !hole, around & !hole);
        }
    }
}
