//! A series of values as differences from a series that both ends know.
//!
//! The series is written as: number of unchanged values, the next value's difference, number of unchanged
//! values, … A run that reaches the end of the series has no difference behind it. Numbers are written as their
//! bit length in ones, a zero, then the bits below the leading one (the gamma code of Elias, 1975); from
//! twelve bits on the length itself is written as six bits. So a series that did not change costs two bits
//! per doubling of its length, and a small change some five bits.

use crate::bits::{BitReader, BitWriter};

/// From this number of bits below the leading one on, the length is written as six bits.
const LONG: u32 = 12;

/// The most bits that one value can take.
pub const MOST_BITS_A_VALUE: u32 = {
    let run = 1;
    let sign = 1;
    let length = LONG + 6;
    run + sign + length + 63
};

/// Writes a series.
#[derive(Debug)]
pub struct DeltaWriter<'a> {
    bits: BitWriter<'a>,
    unchanged: u32,
}

impl<'a> DeltaWriter<'a> {
    /// Starts a series at the first byte of `out`.
    pub fn new(out: &'a mut [u8]) -> Self {
        Self { bits: BitWriter::new(out), unchanged: 0 }
    }

    /// Writes the next value of the series, of which the reader knows `previous`.
    pub fn put(&mut self, previous: i64, present: i64) {
        let difference = present.wrapping_sub(previous);
        if difference == 0 {
            self.unchanged = self.unchanged.saturating_add(1);
            return;
        }
        self.put_number(u64::from(self.unchanged).wrapping_add(1));
        self.unchanged = 0;
        self.bits.write(u64::from(difference < 0), 1);
        self.put_number(difference.unsigned_abs());
    }

    /// Ends the series. Returns the bytes written; `None` when they did not fit.
    pub fn finish(mut self) -> Option<u16> {
        if self.unchanged > 0 {
            self.put_number(u64::from(self.unchanged).wrapping_add(1));
        }
        self.bits.finish()
    }

    /// Writes a number from 1.
    fn put_number(&mut self, number: u64) {
        let below_leading = 63_u32.saturating_sub(number.leading_zeros());
        if below_leading < LONG {
            self.bits.write(u64::MAX, below_leading);
            self.bits.write(0, 1);
        } else {
            self.bits.write(u64::MAX, LONG);
            self.bits.write(u64::from(below_leading), 6);
        }
        self.bits.write(number, below_leading);
    }
}

/// Reads a series. From bytes that no writer wrote it reads wrong values, and tells at the end.
#[derive(Debug, Clone)]
pub struct DeltaReader<'a> {
    bits: BitReader<'a>,
    /// Unchanged values before the next difference; `None` when the next number tells.
    unchanged: Option<u64>,
}

impl<'a> DeltaReader<'a> {
    /// Starts at the first byte.
    pub fn new(bytes: &'a [u8]) -> Self {
        Self { bits: BitReader::new(bytes), unchanged: None }
    }

    /// Reads the next value of the series, of which the writer knew `previous`.
    pub fn next(&mut self, previous: i64) -> i64 {
        let unchanged = match self.unchanged {
            Some(unchanged) => unchanged,
            None => self.read_number().wrapping_sub(1),
        };
        match unchanged.checked_sub(1) {
            Some(less) => {
                self.unchanged = Some(less);
                previous
            }
            None => {
                self.unchanged = None;
                let falls = self.bits.read(1) == 1;
                let size = self.read_number().cast_signed();
                if falls { previous.wrapping_sub(size) } else { previous.wrapping_add(size) }
            }
        }
    }

    /// True when the series ended exactly where the bytes end.
    pub fn is_finished(&self) -> bool {
        self.unchanged.unwrap_or(0) == 0 && self.bits.is_finished()
    }

    /// Reads a number from 1.
    fn read_number(&mut self) -> u64 {
        let mut below_leading = 0_u32;
        while below_leading < LONG && self.bits.read(1) == 1 {
            below_leading = below_leading.wrapping_add(1);
        }
        if below_leading == LONG {
            below_leading = self.bits.read(6) as u32;
        }
        let leading = 1_u64.checked_shl(below_leading).unwrap_or(0);
        leading | self.bits.read(below_leading)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    /// Values as they are on a wire: mostly unchanged, often near, sometimes far.
    fn pairs() -> impl Strategy<Value = Vec<(i64, i64)>> {
        let pair = prop_oneof![
            6 => any::<i64>().prop_map(|value| (value, value)),
            3 => (any::<i64>(), -300_i64..=300).prop_map(|(value, change)| (value, value.wrapping_add(change))),
            1 => (any::<i64>(), any::<i64>()),
        ];
        proptest::collection::vec(pair, 0..200)
    }

    fn written(pairs: &[(i64, i64)]) -> Vec<u8> {
        let mut bytes = std::vec![0; 4000];
        let mut writer = DeltaWriter::new(&mut bytes);
        for (previous, present) in pairs {
            writer.put(*previous, *present);
        }
        let length = writer.finish().unwrap();
        bytes.truncate(length.into());
        bytes
    }

    proptest! {
        #[test]
        fn a_series_is_read_as_it_was_written(pairs in pairs()) {
            let bytes = written(&pairs);
            let mut reader = DeltaReader::new(&bytes);
            for (previous, present) in &pairs {
                prop_assert_eq!(reader.next(*previous), *present);
            }
            prop_assert!(reader.is_finished());
            prop_assert!(bytes.len() * 8 <= pairs.len() * MOST_BITS_A_VALUE as usize + 8);
        }

        #[test]
        fn a_series_of_another_length_is_noticed(pairs in pairs(), missing in 1_usize..5) {
            prop_assume!(pairs.len() > missing);
            let bytes = written(&pairs);
            let mut reader = DeltaReader::new(&bytes);
            for (previous, _) in &pairs[..pairs.len() - missing] {
                reader.next(*previous);
            }
            // Only the padding of the last byte can hide an end that is too early.
            let short = pairs.len() - missing;
            let same_bytes = written(&pairs[..short]) == bytes;
            prop_assert!(!reader.is_finished() || same_bytes);
        }

        #[test]
        fn any_bytes_are_read_without_panic(bytes in proptest::collection::vec(any::<u8>(), 0..100)) {
            let mut reader = DeltaReader::new(&bytes);
            for _ in 0..300 {
                reader.next(0);
            }
        }
    }

    #[test]
    fn an_unchanged_series_of_three_hundred_takes_three_bytes() {
        assert_eq!(written(&[(7, 7); 300]).len(), 3);
    }

    #[test]
    fn the_farthest_change_comes_back() {
        for (previous, present) in [(i64::MAX, i64::MIN), (0, i64::MIN), (-1, i64::MAX), (i64::MIN, 0)] {
            let bytes = written(&[(previous, present)]);
            assert_eq!(DeltaReader::new(&bytes).next(previous), present);
        }
    }
}
