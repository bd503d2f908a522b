//! Asking for a group, and answering that it was done or cannot be (SAE J1939-21).

use crate::frame::Frame;
use crate::id::{Id29, pgn};

/// The address of who has none.
pub const NOBODY: u8 = 254;
/// The address of all.
pub const TO_ALL: u8 = 255;
/// Priority of requests and acknowledgements (SAE J1939-21).
const PRIORITY: u8 = 6;

/// A request for a group.
///
/// ```
/// use trunnion_can::request::Request;
///
/// let frame = Request { pgn: 65_227 }.frame(0x27, 0xF9).unwrap();
/// assert_eq!(frame.id29().unwrap().to_raw(), 0x18EA_27F9);
/// assert_eq!(frame.bytes(), [0xCB, 0xFE, 0x00]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Request {
    /// The group that is wanted, 18 bits.
    pub pgn: u32,
}

impl Request {
    /// The frame that asks one address, or with 255 all; `None` for a group above 18 bits.
    pub fn frame(self, destination: u8, source: u8) -> Option<Frame> {
        let [low, middle, high @ 0..=3, 0] = self.pgn.to_le_bytes() else { return None };
        let id = Id29::addressed(PRIORITY, pgn::REQUEST, destination, source)?;
        Frame::with_bytes(embedded_can::Id::Extended(id.into()), &[low, middle, high])
    }
}

/// What somebody asked of us.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Asked {
    /// The group that is wanted.
    pub pgn: u32,
    /// Who asks.
    pub source: u8,
    /// Whether all were asked: then nobody says that it cannot.
    pub of_all: bool,
}

/// Reads a request to `address` or to all; `None` for any other frame. More than three bytes are accepted, since
/// some tools fill frames up.
pub fn asked(frame: &Frame, address: u8) -> Option<Asked> {
    let id = frame.id29().filter(|id| id.pgn() == pgn::REQUEST)?;
    let of_all = id.destination() == Some(TO_ALL);
    if !of_all && id.destination() != Some(address) {
        return None;
    }
    let [low, middle, high, ..] = *frame.bytes() else { return None };
    let pgn = u32::from_le_bytes([low, middle, high, 0]);
    if pgn > 0x3_FFFF { None } else { Some(Asked { pgn, source: id.source(), of_all }) }
}

/// What is answered to a request or a command (SAE J1939-21, acknowledgement).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Acknowledgement {
    /// Done.
    Positive = 0,
    /// Not known here, or not to be done.
    Negative = 1,
    /// Known, but not allowed now.
    AccessDenied = 2,
    /// Not now: busy.
    CannotRespond = 3,
}

impl Acknowledgement {
    /// The frame, sent to all as the standard wants, with the asker's address inside.
    ///
    /// ```
    /// use trunnion_can::request::{Acknowledgement, asked};
    ///
    /// let frame = Acknowledgement::AccessDenied.frame(65_228, 0xF9, 0x27).unwrap();
    /// assert_eq!(frame.id29().unwrap().to_raw(), 0x18E8_FF27);
    /// assert_eq!(frame.bytes(), [2, 0xFF, 0xFF, 0xFF, 0xF9, 0xCC, 0xFE, 0x00]);
    /// ```
    pub fn frame(self, pgn: u32, asker: u8, source: u8) -> Option<Frame> {
        let [low, middle, high @ 0..=3, 0] = pgn.to_le_bytes() else { return None };
        let id = Id29::addressed(PRIORITY, pgn::ACKNOWLEDGEMENT, TO_ALL, source)?;
        Some(Frame::group(id, [self as u8, 0xFF, 0xFF, 0xFF, asker, low, middle, high]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn only_requests_to_us_or_to_all_are_ours() {
        let request = Request { pgn: pgn::ACTIVE_TROUBLE_CODES };
        let expected = Asked { pgn: 65_226, source: 0xF9, of_all: false };
        assert_eq!(asked(&request.frame(0x27, 0xF9).unwrap(), 0x27), Some(expected));
        assert_eq!(asked(&request.frame(0x28, 0xF9).unwrap(), 0x27), None);
        let of_all = asked(&request.frame(TO_ALL, 0xF9).unwrap(), 0x27);
        assert_eq!(of_all, Some(Asked { of_all: true, ..expected }));
        assert_eq!(Request { pgn: 0x4_0000 }.frame(0x27, 0xF9), None);
        assert_eq!(Acknowledgement::Positive.frame(0x4_0000, 0xF9, 0x27), None);
        let short = Id29::addressed(6, pgn::REQUEST, 0x27, 0xF9).unwrap();
        let short = Frame::with_bytes(embedded_can::Id::Extended(short.into()), &[0xCA, 0xFE]).unwrap();
        assert_eq!(asked(&short, 0x27), None);
    }

    proptest! {
        #[test]
        fn any_group_can_be_asked_for(pgn in 0_u32..0x4_0000, destination: u8, source: u8) {
            let frame = Request { pgn }.frame(destination, source).unwrap();
            let of_all = destination == TO_ALL;
            prop_assert_eq!(asked(&frame, destination), Some(Asked { pgn, source, of_all }));
        }
    }
}
