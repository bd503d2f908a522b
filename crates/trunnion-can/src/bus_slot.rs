//! A frame as two words of a machine's inputs or outputs.

use embedded_can::{ExtendedId, Frame as _, Id};

use crate::frame::{Frame, standard};

/// The identifier has 29 bits.
const EXTENDED: u64 = 1 << 31;
/// Place of the number of bytes, four bits.
const LENGTH: u32 = 32;
/// There is a frame.
const PRESENT: u64 = 1 << 40;
/// All bits of an identifier.
const ID: u64 = 0x1FFF_FFFF;

/// A slot of a machine's record: head and data, both 0 when it is empty.
///
/// The head has the identifier in bits 0 to 28, bit 31 when that has 29 bits, the number of bytes in bits 32 to 35, and
/// bit 40 when there is a frame at all. The data has the first byte in its lowest place.
///
/// ```
/// use trunnion_can::bus_slot::BusSlot;
/// use trunnion_can::frame::Frame;
/// use trunnion_can::id::Id29;
///
/// let frame = Frame::group(Id29::from_raw(0x18EA_27F9).unwrap(), [0xCA, 0xFE, 0, 0, 0, 0, 0, 0]);
/// let slot = BusSlot::of(Some(&frame));
/// assert_eq!(slot.head, 0x0108_98EA_27F9);
/// assert_eq!(slot.frame(), Some(frame));
/// assert_eq!(BusSlot::of(None).frame(), None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct BusSlot {
    /// Identifier, length, and whether there is a frame.
    pub head: u64,
    /// Its bytes; those behind its length are 0.
    pub data: u64,
}

impl BusSlot {
    /// A slot with this frame, or an empty one.
    pub fn of(frame: Option<&Frame>) -> Self {
        let Some(frame) = frame else { return Self::default() };
        let id = match frame.id() {
            Id::Standard(id) => u64::from(id.as_raw()),
            Id::Extended(id) => u64::from(id.as_raw()) | EXTENDED,
        };
        let mut bytes = [0; 8];
        for (place, byte) in bytes.iter_mut().zip(frame.bytes()) {
            *place = *byte;
        }
        let length = (frame.bytes().len() as u64).wrapping_shl(LENGTH);
        Self { head: PRESENT | length | id, data: u64::from_le_bytes(bytes) }
    }

    /// The frame; `None` for an empty slot, and for a head that no frame has.
    pub fn frame(self) -> Option<Frame> {
        if self.head & PRESENT == 0 {
            return None;
        }
        let raw = (self.head & ID) as u32;
        let id = if self.head & EXTENDED == 0 {
            standard(u16::try_from(raw).ok()?)?
        } else {
            Id::Extended(ExtendedId::new(raw)?)
        };
        let length = (self.head.wrapping_shr(LENGTH) & 0xF) as usize;
        Frame::with_bytes(id, self.data.to_le_bytes().get(..length)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_frame_comes_out_as_it_went_in(raw in 0_u32..=0x1FFF_FFFF, extended: bool, bytes in proptest::collection::vec(any::<u8>(), 0..=8)) {
            let id = if extended {
                Id::Extended(ExtendedId::new(raw).unwrap())
            } else {
                standard((raw & 0x7FF) as u16).unwrap()
            };
            let frame = Frame::with_bytes(id, &bytes).unwrap();
            prop_assert_eq!(BusSlot::of(Some(&frame)).frame(), Some(frame));
        }

        #[test]
        fn any_two_words_are_a_frame_or_none_and_never_more(head: u64, data: u64) {
            if let Some(frame) = (BusSlot { head, data }).frame() {
                prop_assert!(frame.bytes().len() <= 8);
                let again = BusSlot::of(Some(&frame));
                prop_assert_eq!(again.frame(), Some(frame));
            }
        }
    }
}
