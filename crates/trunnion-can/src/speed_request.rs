//! Torque/Speed Control 1: a speed asked of the engine (SAE J1939-71, PGN 0).

use trunnion::quantity::Rpm;

use crate::frame::Frame;
use crate::id::{Id29, pgn};
use crate::layout::request::{CHECKSUM, CONDITIONS, COUNTER, MODE, SPEED_ASKED};

/// Priority of the message (SAE J1939-71).
const PRIORITY: u8 = 3;
/// Largest word that is a value (SAE J1939-71).
const LARGEST_WORD: i64 = 0xFAFF;
/// The message counter runs from 0 to 7 (from memory).
const LARGEST_COUNT: u8 = 7;

/// What is asked of the engine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SpeedRequest {
    /// Nothing: the engine follows its own throttle.
    #[default]
    None,
    /// Run at this speed, 0 to 8031.875 rpm.
    Speed(Rpm),
    /// Run at most at this speed, 0 to 8031.875 rpm.
    Limit(Rpm),
}

/// Sends [`SpeedRequest`]s with a counter and a checksum, so that the engine sees a stuck or damaged sender.
///
/// Layout, counter and checksum are from memory of SAE J1939-71 (SPN 4206 and 4207): the checksum is the sum of the
/// first seven bytes, the counter and the four bytes of the identifier, its high nibble added to its low one. Check
/// them against the engine maker's own documents before an engine listens.
///
/// ```
/// use trunnion::quantity::Rpm;
/// use trunnion_can::speed_request::{SpeedRequest, SpeedRequestSender};
///
/// let mut to_engine = SpeedRequestSender::new();
/// let frame = to_engine.step(SpeedRequest::Limit(Rpm::from_whole(1800)), 0x00, 0x27).unwrap();
/// assert_eq!(frame.id29().unwrap().to_raw(), 0x0C00_0027);
/// // Speed limit mode, 1800 rpm in eighths.
/// assert_eq!((frame.bytes()[0] & 0b11, &frame.bytes()[1..3]), (0b11, &[0x40, 0x38][..]));
/// ```
#[derive(Debug, Clone, Copy, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct SpeedRequestSender {
    count: u8,
}

impl SpeedRequestSender {
    /// The first message has count 0.
    pub const fn new() -> Self {
        Self { count: 0 }
    }

    /// Counts from 0 again.
    pub const fn reset(&mut self) {
        self.count = 0;
    }

    /// The message for the engine at `engine` from our address. A speed outside the field is held at its nearer end.
    /// `None` never happens for a valid group; the type of an identifier asks for it.
    pub fn step(&mut self, request: SpeedRequest, engine: u8, source: u8) -> Option<Frame> {
        let id = Id29::addressed(PRIORITY, pgn::TORQUE_SPEED_CONTROL_1, engine, source)?;
        let count = self.count;
        self.count = if count >= LARGEST_COUNT { 0 } else { count.wrapping_add(1) };
        let (mode, word) = match request {
            SpeedRequest::None => (0b00, u16::MAX),
            SpeedRequest::Speed(speed) => (0b01, word(speed)),
            SpeedRequest::Limit(speed) => (0b11, word(speed)),
        };
        // Lowest priority of the request; torque and the rest "not available".
        let said = SPEED_ASKED.put(u64::from(word)) | MODE.put(mode);
        let filled = !(SPEED_ASKED.put(u64::MAX) | MODE.put(u64::MAX) | CONDITIONS.put(u64::MAX)) | said;
        let [a, b, c, d, e, f, g, _] = filled.to_le_bytes();
        let check = checksum(&[a, b, c, d, e, f, g], count, id);
        let last = COUNTER.put(u64::from(count)) | CHECKSUM.put(u64::from(check));
        let kept = !(COUNTER.put(u64::MAX) | CHECKSUM.put(u64::MAX));
        Some(Frame::group(id, ((filled & kept) | last).to_le_bytes()))
    }
}

const fn word(speed: Rpm) -> u16 {
    speed.at_least(Rpm::ZERO).at_most(Rpm::saturating(LARGEST_WORD)).raw() as u16
}

/// Four bits over seven bytes, counter and identifier.
fn checksum(seven: &[u8; 7], count: u8, id: Id29) -> u8 {
    let sum = seven
        .iter()
        .chain(&id.to_raw().to_le_bytes())
        .fold(u16::from(count), |sum, byte| sum.wrapping_add(u16::from(*byte)));
    ((sum >> 4).wrapping_add(sum) & 0x0F) as u8
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_counter_goes_round_and_a_request_of_nothing_says_so() {
        let mut sender = SpeedRequestSender::new();
        let counts: std::vec::Vec<u8> =
            (0..9).map(|_| sender.step(SpeedRequest::None, 0, 0x27).unwrap().bytes()[7] & 0x0F).collect();
        assert_eq!(counts, [0, 1, 2, 3, 4, 5, 6, 7, 0]);
        sender.reset();
        let frame = sender.step(SpeedRequest::None, 0, 0x27).unwrap();
        assert_eq!((frame.bytes()[0] & 0b11, &frame.bytes()[1..7]), (0, &[0xFF; 6][..]));
        assert_eq!(frame.bytes()[7] & 0x0F, 0);
    }

    proptest! {
        #[test]
        fn a_speed_is_held_in_the_field(speed: i32) {
            let mut sender = SpeedRequestSender::new();
            let speed = Rpm::saturating(i64::from(speed));
            let frame = sender.step(SpeedRequest::Speed(speed), 0, 0x27).unwrap();
            let sent = i32::from(u16::from_le_bytes([frame.bytes()[1], frame.bytes()[2]]));
            prop_assert_eq!(sent, speed.raw().max(0).min(0xFAFF));
        }

        #[test]
        fn most_bits_that_flip_are_seen_by_the_checksum(speed in 0_i64..0xFAFF, bit in 0_u32..56) {
            let mut sender = SpeedRequestSender::new();
            let frame = sender.step(SpeedRequest::Speed(Rpm::saturating(speed)), 0, 0x27).unwrap();
            let mut seven: [u8; 7] = frame.bytes()[..7].try_into().unwrap();
            seven[(bit / 8) as usize] ^= 1 << (bit % 8);
            // A sum modulo 15, as the nibbles are added, sees every single flip.
            prop_assert_ne!(checksum(&seven, 0, frame.id29().unwrap()), frame.bytes()[7] >> 4);
        }
    }
}
