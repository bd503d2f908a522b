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
