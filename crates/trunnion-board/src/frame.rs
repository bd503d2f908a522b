//! Frames on the wire: consistent overhead byte stuffing, check sum, delimiter.
//!
//! A frame is its bytes and their CRC-16/IBM-3740, low byte first, stuffed so that no zero is left (Cheshire and
//! Baker, "Consistent overhead byte stuffing", IEEE/ACM Transactions on Networking 7(2), 1999), then a zero.
//! Whatever was lost or added, the next zero is the end of a frame again. Empty frames mean nothing.

/// Delimiter of frames.
pub const DELIMITER: u8 = 0;

/// The longest frame, with its check sum.
pub const LONGEST: usize = 4096;

const CHECK_BYTES: usize = 2;
/// CRC-16/IBM-3740: polynomial and start value, neither reflected, nothing added at the end.
const POLYNOMIAL: u16 = 0x1021;
const CHECK_START: u16 = 0xFFFF;
/// The remainder of each half byte.
const REMAINDERS: [u16; 16] = remainders();
/// Bytes of a block that has no zero at its end.
const FULL_BLOCK: u8 = 254;

/// Why what was received is no frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Damage {
    /// More bytes than any frame has.
    TooLong,
    /// Fewer bytes than the stuffing or the check sum needs.
    TooShort,
    /// The check sum does not fit.
    CheckSum,
}

/// Stuffs one frame: `put` is given each byte for the wire.
pub fn send(bytes: &[u8], mut put: impl FnMut(u8)) {
    let check = check_sum(bytes).to_le_bytes();
    stuff(bytes.iter().chain(&check), &mut put);
    put(DELIMITER);
}

fn stuff<'a>(bytes: impl Iterator<Item = &'a u8>, mut put: impl FnMut(u8)) {
    let mut stuffing = Stuffing { block: [0; FULL_BLOCK as usize], filled: 0 };
    for byte in bytes {
        stuffing.take(*byte, &mut put);
    }
    stuffing.put_block(false, &mut put);
}

fn check_sum(bytes: &[u8]) -> u16 {
    bytes.iter().fold(CHECK_START, |check, byte| {
        let high = with_half_byte(check, u16::from(*byte / 16));
        with_half_byte(high, u16::from(*byte % 16))
    })
}

#[allow(clippy::indexing_slicing)] // four bits, sixteen places
const fn with_half_byte(check: u16, half: u16) -> u16 {
    let place = ((check >> 12) ^ half) & 0xF;
    (check << 4) ^ REMAINDERS[place as usize]
}

#[allow(clippy::indexing_slicing, clippy::arithmetic_side_effects)] // evaluated at build time: a panic is a build error
const fn remainders() -> [u16; 16] {
    let mut table = [0; 16];
    let mut half = 0;
    while half < 16 {
        let mut remainder = (half as u16) << 12;
        let mut bit = 0;
        while bit < 4 {
            let carry = remainder & 0x8000 != 0;
            remainder <<= 1;
            if carry {
                remainder ^= POLYNOMIAL;
            }
            bit += 1;
        }
        table[half] = remainder;
        half += 1;
    }
    table
}

/// The block that is being filled.
struct Stuffing {
    block: [u8; FULL_BLOCK as usize],
    filled: u8,
}

impl Stuffing {
    fn take(&mut self, byte: u8, put: &mut impl FnMut(u8)) {
        if byte == DELIMITER {
            self.put_block(false, put);
            return;
        }
        if let Some(place) = self.block.get_mut(usize::from(self.filled)) {
            *place = byte;
            self.filled = self.filled.wrapping_add(1);
        }
        if self.filled == FULL_BLOCK {
            self.put_block(true, put);
        }
    }

    fn put_block(&mut self, full: bool, put: &mut impl FnMut(u8)) {
        put(if full { u8::MAX } else { self.filled.wrapping_add(1) });
        for byte in self.block.iter().take(self.filled.into()) {
            put(*byte);
        }
        self.filled = 0;
    }
}

/// Collects the bytes of one frame.
#[derive(Debug, Clone)]
pub struct Receiver {
    buffer: [u8; LONGEST],
    length: u16,
    /// Bytes of the present block that are still to come.
    block_left: u8,
    /// A zero stands between the present block and the next.
    zero_follows: bool,
    too_long: bool,
}

impl Default for Receiver {
    fn default() -> Self {
        Self::new()
    }
}

impl Receiver {
    /// Waits for the first byte of a frame.
    pub const fn new() -> Self {
        Self { buffer: [0; LONGEST], length: 0, block_left: 0, zero_follows: false, too_long: false }
    }

    /// Takes one byte from the wire; at the end of a frame gives the frame without its check sum, or says what
    /// is wrong with it.
    pub fn take(&mut self, byte: u8) -> Option<Result<&[u8], Damage>> {
        if byte == DELIMITER {
            return self.end();
        }
        if self.block_left > 0 {
            self.block_left = self.block_left.wrapping_sub(1);
            self.keep(byte);
            return None;
        }
        if self.zero_follows {
            self.keep(0);
        }
        self.zero_follows = byte != u8::MAX;
        self.block_left = byte.wrapping_sub(1);
        None
    }

    fn keep(&mut self, byte: u8) {
        match self.buffer.get_mut(usize::from(self.length)) {
            Some(place) => {
                *place = byte;
                self.length = self.length.wrapping_add(1);
            }
            None => self.too_long = true,
        }
    }

    fn end(&mut self) -> Option<Result<&[u8], Damage>> {
        let (length, cut, too_long) = (usize::from(self.length), self.block_left > 0, self.too_long);
        let empty = length == 0 && !cut && !self.zero_follows;
        self.length = 0;
        self.block_left = 0;
        self.zero_follows = false;
        self.too_long = false;
        if empty {
            return None;
        }
        if too_long {
            return Some(Err(Damage::TooLong));
        }
        let frame = self.buffer.get(..length).filter(|_| !cut);
        let Some((bytes, check)) = frame.and_then(|frame| frame.split_last_chunk::<CHECK_BYTES>()) else {
            return Some(Err(Damage::TooShort));
        };
        if u16::from_le_bytes(*check) == check_sum(bytes) {
            Some(Ok(bytes))
        } else {
            Some(Err(Damage::CheckSum))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    fn wire(bytes: &[u8]) -> Vec<u8> {
        let mut wire = Vec::new();
        send(bytes, |byte| wire.push(byte));
        wire
    }

    fn received(receiver: &mut Receiver, wire: &[u8]) -> Vec<Result<Vec<u8>, Damage>> {
        wire.iter().filter_map(|byte| Some(receiver.take(*byte)?.map(<[u8]>::to_vec))).collect()
    }

    /// Bytes with many zeros, and runs around the length of a full block.
    fn bytes() -> impl Strategy<Value = Vec<u8>> {
        prop_oneof![
            proptest::collection::vec(prop_oneof![Just(0_u8), any::<u8>()], 0..600),
            (250_usize..520).prop_map(|length| std::vec![7; length]),
        ]
    }

    proptest! {
        #[test]
        fn a_frame_is_received_as_it_was_sent(bytes in bytes()) {
            let wire = wire(&bytes);
            prop_assert_eq!(wire.iter().filter(|byte| **byte == DELIMITER).count(), 1);
            prop_assert!(wire.len() <= bytes.len() + 2 + 2 + bytes.len() / 200 + 1);
            prop_assert_eq!(received(&mut Receiver::new(), &wire), [Ok(bytes)]);
        }

        #[test]
        fn after_any_noise_the_second_frame_at_the_latest_is_whole(
            noise in proptest::collection::vec(any::<u8>(), 0..300), bytes in bytes()
        ) {
            let mut receiver = Receiver::new();
            received(&mut receiver, &noise);
            received(&mut receiver, &[DELIMITER]);
            prop_assert_eq!(received(&mut receiver, &wire(&bytes)), [Ok(bytes)]);
        }

        #[test]
        fn no_changed_byte_goes_unnoticed(bytes in bytes(), place: prop::sample::Index, change in 1_u8..) {
            let mut changed = bytes.clone();
            changed.extend(check_sum(&bytes).to_le_bytes());
            let place = place.index(changed.len());
            changed[place] ^= change;
            let mut wire = Vec::new();
            stuff(changed.iter(), |byte| wire.push(byte));
            wire.push(DELIMITER);
            prop_assert_eq!(received(&mut Receiver::new(), &wire), [Err(Damage::CheckSum)]);
        }

        #[test]
        fn a_cut_frame_is_told(bytes in bytes(), kept: prop::sample::Index) {
            let wire = wire(&bytes);
            let mut cut = wire[..kept.index(wire.len() - 1)].to_vec();
            cut.push(DELIMITER);
            for frame in received(&mut Receiver::new(), &cut) {
                prop_assert_ne!(frame, Ok(bytes.clone()));
            }
        }
    }

    #[test]
    fn the_check_sum_is_the_catalogued_one() {
        // CRC catalogue: CRC-16/IBM-3740 of "123456789" is 0x29B1.
        assert_eq!(wire(b"123456789")[10..], [0xB1, 0x29, DELIMITER]);
    }

    #[test]
    fn a_frame_without_end_is_told_as_too_long_and_then_forgotten() {
        let mut receiver = Receiver::new();
        assert!(received(&mut receiver, &std::vec![0xFF; 3 * LONGEST]).is_empty());
        assert_eq!(received(&mut receiver, &[DELIMITER]), [Err(Damage::TooLong)]);
        assert_eq!(received(&mut receiver, &wire(b"next")), [Ok(b"next".to_vec())]);
    }

    #[test]
    fn the_empty_frame_between_two_delimiters_means_nothing() {
        assert!(received(&mut Receiver::new(), &[DELIMITER; 5]).is_empty());
    }
}
