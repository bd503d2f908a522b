//! One data frame of classic CAN.

use embedded_can::{ExtendedId, Frame as CanFrame, Id, StandardId};

use crate::id::Id29;

/// A data frame: an 11- or 29-bit identifier and up to eight bytes.
///
/// Whether the identifier is extended is part of it and never inferred from its value. Remote frames are not
/// made: SAE J1939-21 and ISO 15765 use none.
///
/// ```
/// use trunnion_can::frame::Frame;
/// use trunnion_can::id::{Id29, pgn};
///
/// let speed = Id29::broadcast(3, pgn::ELECTRONIC_ENGINE_CONTROLLER_1, 0).unwrap();
/// let frame = Frame::group(speed, [0xFF, 0x7D, 0x7D, 0xE0, 0x15, 0xFF, 0xF0, 0xFF]);
/// assert_eq!(frame.id29(), Some(speed));
/// assert_eq!(frame.bytes().len(), 8);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Frame {
    id: Id,
    length: u8,
    data: [u8; 8],
}

#[cfg(feature = "defmt")]
impl defmt::Format for Frame {
    fn format(&self, formatter: defmt::Formatter<'_>) {
        let id = match self.id {
            Id::Standard(id) => u32::from(id.as_raw()),
            Id::Extended(id) => id.as_raw(),
        };
        defmt::write!(formatter, "{=u32:08x} {=[u8]:02x}", id, self.bytes());
    }
}

impl Frame {
    /// Eight bytes under a 29-bit identifier, as nearly all groups of SAE J1939 are sent.
    pub fn group(id: Id29, data: [u8; 8]) -> Self {
        Self { id: Id::Extended(ExtendedId::from(id)), length: 8, data }
    }

    /// Up to eight bytes; `None` for more.
    pub fn with_bytes(id: Id, bytes: &[u8]) -> Option<Self> {
        let mut data = [0; 8];
        data.get_mut(..bytes.len())?.copy_from_slice(bytes);
        Some(Self { id, length: bytes.len() as u8, data })
    }

    /// The 29-bit identifier; `None` for one of 11 bits.
    pub fn id29(&self) -> Option<Id29> {
        match self.id {
            Id::Extended(id) => Some(Id29::from(id)),
            Id::Standard(_) => None,
        }
    }

    /// The bytes, up to eight.
    pub fn bytes(&self) -> &[u8] {
        self.data.get(..usize::from(self.length)).unwrap_or(&self.data)
    }

    /// All eight bytes; `None` when the frame has fewer.
    pub const fn eight(&self) -> Option<&[u8; 8]> {
        if self.length == 8 { Some(&self.data) } else { None }
    }
}

impl CanFrame for Frame {
    fn new(id: impl Into<Id>, data: &[u8]) -> Option<Self> {
        Self::with_bytes(id.into(), data)
    }

    fn new_remote(_: impl Into<Id>, _: usize) -> Option<Self> {
        None
    }

    fn is_extended(&self) -> bool {
        matches!(self.id, Id::Extended(_))
    }

    fn is_remote_frame(&self) -> bool {
        false
    }

    fn id(&self) -> Id {
        self.id
    }

    fn dlc(&self) -> usize {
        usize::from(self.length)
    }

    fn data(&self) -> &[u8] {
        self.bytes()
    }
}

/// An 11-bit identifier; `None` above 0x7FF.
pub fn standard(raw: u16) -> Option<Id> {
    StandardId::new(raw).map(Id::Standard)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_frame_gives_back_what_it_was_made_of(raw in 0_u16..0x1000, bytes in proptest::collection::vec(any::<u8>(), 0..12)) {
            let Some(id) = standard(raw) else {
                prop_assert!(raw > 0x7FF);
                return Ok(());
            };
            match Frame::with_bytes(id, &bytes) {
                Some(frame) => {
                    prop_assert_eq!(frame.bytes(), &bytes[..]);
                    prop_assert_eq!((frame.id(), frame.dlc()), (id, bytes.len()));
                    prop_assert!(!frame.is_extended() && !frame.is_remote_frame() && frame.id29().is_none());
                    prop_assert_eq!(frame.eight().is_some(), bytes.len() == 8);
                }
                None => prop_assert!(bytes.len() > 8),
            }
        }
    }

    #[test]
    fn an_extended_identifier_stays_extended_however_small_it_is() {
        let frame = Frame::group(Id29::from_raw(0x123).unwrap(), [0; 8]);
        assert!(frame.is_extended());
        assert_ne!(Frame::with_bytes(standard(0x123).unwrap(), &[0; 8]), Some(frame));
        assert_eq!(<Frame as CanFrame>::new_remote(standard(1).unwrap(), 0), None);
    }
}
