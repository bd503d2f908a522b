//! The latest frame of each declared message.

use crate::id::Id29;

/// Which frames a slot takes: one parameter group from one address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Filter {
    /// Parameter group number, 18 bits.
    pub pgn: u32,
    /// Address of the sender.
    pub source: u8,
}

/// The latest frame of one declared message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Slot {
    /// Its eight bytes, the first in the lowest place. All bits set, "not available", until one came.
    pub data: u64,
    /// Frames taken since start; wraps, and only differences count.
    pub count: u8,
}

impl Slot {
    const EMPTY: Self = Self { data: u64::MAX, count: 0 };

    /// Its eight bytes as they came.
    pub const fn bytes(self) -> [u8; 8] {
        self.data.to_le_bytes()
    }
}

/// What became of a frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Accepted {
    /// It is the latest of this slot.
    Slot(u8),
    /// No slot takes it.
    NotOurs,
    /// A slot would take it, but it has not eight bytes: the slot is as it was.
    Malformed,
}

/// One slot a declared message, so that no flood of others displaces a lever's frame.
///
/// Ignores priority and, where a group has one, the destination. Takes 29-bit identifiers and eight data
/// bytes only. The first filter that fits takes the frame. At most 256 slots.
///
/// ```
/// use trunnion_can::id::pgn;
/// use trunnion_can::mailbox::{Accepted, Filter, Mailbox};
///
/// let mut mailbox = Mailbox::new([Filter { pgn: pgn::BASIC_JOYSTICK_1, source: 0x33 }]);
/// let neutral = [0x01, 0x00, 0x01, 0x00, 0xFF, 0xFF, 0xFF, 0xFF];
/// assert_eq!(mailbox.receive(0x0CFD_D633, true, &neutral), Accepted::Slot(0));
/// assert_eq!(mailbox.receive(0x0CFD_D634, true, &neutral), Accepted::NotOurs);
/// assert_eq!(mailbox.slot(0).count, 1);
/// assert_eq!(mailbox.slot(0).bytes(), neutral);
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Mailbox<const N: usize> {
    filters: [Filter; N],
    slots: [Slot; N],
}

impl<const N: usize> Mailbox<N> {
    /// Empty slots, one a filter.
    pub const fn new(filters: [Filter; N]) -> Self {
        const { assert!(N <= 256, "a mailbox has at most 256 slots") };
        Self { filters, slots: [Slot::EMPTY; N] }
    }

    /// Takes new filters. A slot whose filter changed is emptied; its count goes on, so that no frame of
    /// the former sender is taken for a new one.
    pub fn reconfigure(&mut self, filters: [Filter; N]) {
        for ((slot, before), after) in self.slots.iter_mut().zip(&self.filters).zip(&filters) {
            if before != after {
                slot.data = Slot::EMPTY.data;
            }
        }
        self.filters = filters;
    }

    /// Empties all slots and counts from zero.
    pub fn reset(&mut self) {
        self.slots = [Slot::EMPTY; N];
    }

    /// Takes a frame as the controller hands it over: raw identifier, whether it has 29 bits, data.
    pub fn receive(&mut self, id: u32, extended: bool, data: &[u8]) -> Accepted {
        let Some(id) = Id29::from_raw(id).filter(|_| extended) else { return Accepted::NotOurs };
        let wanted = Filter { pgn: id.pgn(), source: id.source() };
        let Some((index, slot)) = (0_u8..=u8::MAX)
            .zip(&mut self.slots)
            .zip(&self.filters)
            .find(|(_, filter)| **filter == wanted)
            .map(|(place, _)| place)
        else {
            return Accepted::NotOurs;
        };
        let Ok(bytes) = <[u8; 8]>::try_from(data) else { return Accepted::Malformed };
        slot.data = u64::from_le_bytes(bytes);
        slot.count = slot.count.wrapping_add(1);
        Accepted::Slot(index)
    }

    /// The latest frame of a slot; an empty one when there is no such slot.
    pub fn slot(&self, index: u8) -> Slot {
        self.slots.get(usize::from(index)).copied().unwrap_or(Slot::EMPTY)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::pgn;
    use proptest::prelude::*;

    const LEFT: Filter = Filter { pgn: pgn::BASIC_JOYSTICK_1, source: 0x33 };
    const RIGHT: Filter = Filter { pgn: pgn::BASIC_JOYSTICK_1, source: 0x34 };
    const REQUEST: Filter = Filter { pgn: 0xEA00, source: 0x33 };

    #[test]
    fn only_eight_bytes_under_a_29_bit_identifier_are_taken() {
        let mut mailbox = Mailbox::new([LEFT]);
        for length in [0, 1, 7, 9, 64] {
            assert_eq!(mailbox.receive(0x0CFD_D633, true, &[0; 64][..length]), Accepted::Malformed);
        }
        assert_eq!(mailbox.receive(0x0CFD_D633, false, &[0; 8]), Accepted::NotOurs);
        assert_eq!(mailbox.receive(0x2CFD_D633, true, &[0; 8]), Accepted::NotOurs, "more than 29 bits");
        assert_eq!(mailbox.slot(0), Slot { data: u64::MAX, count: 0 });
        assert_eq!(mailbox.slot(1), Slot { data: u64::MAX, count: 0 });
    }

    #[test]
    fn new_filters_drop_the_data_of_a_former_sender_but_show_no_new_frame() {
        let mut mailbox = Mailbox::new([LEFT, REQUEST]);
        mailbox.receive(0x0CFD_D633, true, &[1; 8]);
        mailbox.receive(0x18EA_0033, true, &[2; 8]);
        mailbox.reconfigure([RIGHT, REQUEST]);
        assert_eq!(mailbox.slot(0), Slot { data: u64::MAX, count: 1 });
        assert_eq!(mailbox.slot(1), Slot { data: 0x0202_0202_0202_0202, count: 1 });
        assert_eq!(mailbox.receive(0x0CFD_D633, true, &[1; 8]), Accepted::NotOurs);
        mailbox.reset();
        assert_eq!(mailbox.slot(1), Slot { data: u64::MAX, count: 0 });
    }

    #[test]
    fn the_first_byte_is_the_lowest_and_the_count_wraps() {
        let mut mailbox = Mailbox::new([LEFT]);
        for _ in 0..257 {
            mailbox.receive(0x0CFD_D633, true, &[1, 2, 3, 4, 5, 6, 7, 8]);
        }
        assert_eq!(mailbox.slot(0), Slot { data: 0x0807_0605_0403_0201, count: 1 });
    }

    proptest! {
        #[test]
        fn each_slot_holds_the_latest_of_its_own_frames_whatever_else_comes(
            frames in proptest::collection::vec((0_u32..8, 0_usize..5, any::<[u8; 8]>()), 0..300)
        ) {
            let filters = [LEFT, RIGHT, REQUEST];
            let mut mailbox = Mailbox::new(filters);
            let mut expected = [Slot { data: u64::MAX, count: 0 }; 3];
            for (priority, kind, data) in frames {
                // A lever each side, a request to some address, and two that nobody asked for.
                let destination = u32::from(data[0]);
                let (group, source) =
                    [(0xFDD6, 0x33), (0xFDD6, 0x34), (0xEA00 | destination, 0x33), (0xFDD7, 0x33), (0xFDD6, 0x35)][kind];
                let id = (priority << 26) | (group << 8) | source;
                let accepted = mailbox.receive(id, true, &data);
                match expected.get_mut(kind) {
                    Some(slot) => {
                        prop_assert_eq!(accepted, Accepted::Slot(kind as u8));
                        *slot = Slot { data: u64::from_le_bytes(data), count: slot.count.wrapping_add(1) };
                    }
                    None => prop_assert_eq!(accepted, Accepted::NotOurs),
                }
            }
            prop_assert_eq!([0, 1, 2].map(|index| mailbox.slot(index)), expected);
        }
    }
}
