//! Bits in bytes, the lowest first.

/// Writes bits into a slice; what no longer fits is dropped and remembered.
#[derive(Debug)]
pub struct BitWriter<'a> {
    places: core::slice::IterMut<'a, u8>,
    partial: u8,
    filled: u32,
    written: u16,
    overflowed: bool,
}

impl<'a> BitWriter<'a> {
    /// Starts at the first bit of `out`.
    pub fn new(out: &'a mut [u8]) -> Self {
        Self { places: out.iter_mut(), partial: 0, filled: 0, written: 0, overflowed: false }
    }

    /// Writes the lowest `count` bits of `value`, 0 to 64.
    pub fn write(&mut self, value: u64, count: u32) {
        let mut rest = value;
        let mut left = count.min(64);
        while left > 0 {
            let room = 8_u32.wrapping_sub(self.filled);
            let taken = left.min(room);
            let chunk = (rest & low_bits(taken)) as u8;
            self.partial |= chunk.wrapping_shl(self.filled);
            self.filled = self.filled.wrapping_add(taken);
            rest = rest.checked_shr(taken).unwrap_or(0);
            left = left.wrapping_sub(taken);
            if self.filled == 8 {
                self.put_partial();
            }
        }
    }

    /// Fills the last byte with zeros. Returns the bytes written; `None` when they did not fit.
    pub fn finish(mut self) -> Option<u16> {
        if self.filled > 0 {
            self.put_partial();
        }
        if self.overflowed { None } else { Some(self.written) }
    }

    fn put_partial(&mut self) {
        match self.places.next() {
            Some(place) => {
                *place = self.partial;
                self.written = self.written.saturating_add(1);
            }
            None => self.overflowed = true,
        }
        self.partial = 0;
        self.filled = 0;
    }
}

/// Reads bits from a slice; behind its end all bits are zero, and that is remembered.
#[derive(Debug, Clone)]
pub struct BitReader<'a> {
    bytes: core::slice::Iter<'a, u8>,
    partial: u8,
    left: u32,
    overrun: bool,
}

impl<'a> BitReader<'a> {
    /// Starts at the first bit of `bytes`.
    pub fn new(bytes: &'a [u8]) -> Self {
        Self { bytes: bytes.iter(), partial: 0, left: 0, overrun: false }
    }

    /// Reads `count` bits, 0 to 64.
    pub fn read(&mut self, count: u32) -> u64 {
        let mut value = 0_u64;
        let mut place = 0_u32;
        let count = count.min(64);
        while place < count {
            if self.left == 0 {
                self.next_byte();
            }
            let taken = self.left.min(count.wrapping_sub(place));
            let chunk = u64::from(self.partial) & low_bits(taken);
            value |= chunk.wrapping_shl(place);
            self.partial = self.partial.checked_shr(taken).unwrap_or(0);
            self.left = self.left.wrapping_sub(taken);
            place = place.wrapping_add(taken);
        }
        value
    }

    /// True when exactly the whole slice was read: nothing behind its end, nothing left but zeros in the last
    /// byte.
    pub fn is_finished(&self) -> bool {
        !self.overrun && self.partial == 0 && self.bytes.len() == 0
    }

    /// True when more was read than there is.
    pub fn is_overrun(&self) -> bool {
        self.overrun
    }

    fn next_byte(&mut self) {
        match self.bytes.next() {
            Some(byte) => self.partial = *byte,
            None => {
                self.partial = 0;
                self.overrun = true;
            }
        }
        self.left = 8;
    }
}

/// A mask of the lowest `count` bits.
fn low_bits(count: u32) -> u64 {
    match 1_u64.checked_shl(count) {
        Some(bit) => bit.wrapping_sub(1),
        None => u64::MAX,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_was_written_is_read_again(parts in proptest::collection::vec((any::<u64>(), 0_u32..=64), 0..40)) {
            let mut bytes = [0xFF; 400];
            let mut writer = BitWriter::new(&mut bytes);
            for (value, count) in &parts {
                writer.write(*value, *count);
            }
            let written = writer.finish().unwrap();
            let bits: u32 = parts.iter().map(|(_, count)| count).sum();
            prop_assert_eq!(u32::from(written), bits.div_ceil(8));
            let mut reader = BitReader::new(&bytes[..written.into()]);
            for (value, count) in &parts {
                prop_assert_eq!(reader.read(*count), value & low_bits(*count));
            }
            prop_assert!(reader.is_finished());
        }

        #[test]
        fn what_does_not_fit_is_told(room in 0_usize..8, count in 0_u32..=64) {
            let mut bytes = [0; 8];
            let mut writer = BitWriter::new(&mut bytes[..room]);
            writer.write(u64::MAX, count);
            prop_assert_eq!(writer.finish().is_some(), count as usize <= room * 8);
        }
    }

    #[test]
    fn behind_the_end_are_zeros_and_it_is_told() {
        let mut reader = BitReader::new(&[0xFF]);
        assert_eq!(reader.read(12), 0xFF);
        assert!(reader.is_overrun());
        assert!(!reader.is_finished());
    }

    #[test]
    fn bits_left_in_the_last_byte_are_told() {
        let mut reader = BitReader::new(&[0b1000_0001]);
        assert_eq!(reader.read(1), 1);
        assert!(!reader.is_finished());
    }
}
